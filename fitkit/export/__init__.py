"""The export room."""
