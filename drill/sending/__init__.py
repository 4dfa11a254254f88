"""The sending drill: what the trainee says, heard, measured and reviewed."""
