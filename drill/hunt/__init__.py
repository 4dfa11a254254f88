"""The hunt: an hour on a crowded band, with both logs checked at the end."""
