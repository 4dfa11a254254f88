"""itemsets."""
