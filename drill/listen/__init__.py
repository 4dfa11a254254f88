"""listen."""
