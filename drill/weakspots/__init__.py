"""weakspots."""
