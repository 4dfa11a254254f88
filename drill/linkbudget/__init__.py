"""linkbudget."""
