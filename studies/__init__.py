"""Simulations that ask whether fitkit's numbers are true; nothing in fitkit imports them."""
