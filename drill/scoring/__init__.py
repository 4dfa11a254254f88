"""scoring."""
