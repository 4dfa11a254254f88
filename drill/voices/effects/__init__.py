"""effects."""
