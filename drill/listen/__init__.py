"""Listening to conditions: one over with and without a stage, measured, described and drawn.

Reading order: `compare` (an item without one stage), `figures` (what is measured), `describe` (the
same in sentences), `plot` (spectrogram, fading and levels as a picture).
"""
