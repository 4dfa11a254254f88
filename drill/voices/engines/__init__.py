"""engines."""
