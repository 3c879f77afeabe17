"""The checks room."""
