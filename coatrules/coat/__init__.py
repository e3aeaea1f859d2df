"""The coat of one region as a queue of hair pulled on the same day: pure numbers."""
