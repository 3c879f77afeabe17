"""The fits room."""
