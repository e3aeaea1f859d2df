"""Today's work order for one dog."""
