"""Processing of every engine's sound after synthesis.

Read finish first (trimming, peak, word times), then shape (pauses, spectral tilt and level, by
which drill.voices.people.styles makes a vocal style audible).
"""
