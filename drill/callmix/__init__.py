"""callmix."""
