"""The widgets room."""
