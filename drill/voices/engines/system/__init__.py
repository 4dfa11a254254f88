"""system."""
