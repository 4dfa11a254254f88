"""Comparison of conditions by ear: one over with and without a stage, measured and plotted.

Reading order: `compare` (an item without one stage), `figures` (measurements of the audio),
`describe` (their sentences), `plot` (a picture of spectrogram, fading and levels).
"""
