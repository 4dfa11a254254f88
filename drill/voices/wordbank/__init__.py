"""wordbank."""
