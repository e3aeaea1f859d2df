"""A work order as people read it: one module a format. Nothing here decides anything."""
