"""selfcheck."""
