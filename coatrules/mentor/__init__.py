"""The mentor's workbench: rehearsal, comparison, layout and migration of profiles."""
