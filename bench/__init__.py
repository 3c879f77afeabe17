"""Ratios measured side by side: `python3 run.py bench`."""
