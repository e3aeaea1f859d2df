"""Many dogs: who is due, and a work order for each."""
