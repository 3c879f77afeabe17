"""The parts room."""
