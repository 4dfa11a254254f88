"""Scoring of what the trainee typed against what was sent."""
