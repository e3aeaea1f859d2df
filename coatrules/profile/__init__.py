"""A breed profile: written, loaded with all that it extends, checked for names that lead nowhere, compiled."""
