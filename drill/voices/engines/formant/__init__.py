"""formant."""
