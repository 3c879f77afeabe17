"""The readings room."""
