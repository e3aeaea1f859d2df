"""Writes visits down so that nothing is lost, and brings old records in."""
