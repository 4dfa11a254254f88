"""natural."""
