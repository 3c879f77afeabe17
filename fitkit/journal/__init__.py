"""The journal room."""
