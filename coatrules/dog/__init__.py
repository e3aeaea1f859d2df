"""One dog: its history as written, and its state on a day."""
