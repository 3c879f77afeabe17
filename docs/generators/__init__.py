"""What makes the reference's pages from the code; `docs/build.py` calls each."""
