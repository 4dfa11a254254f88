"""items."""
