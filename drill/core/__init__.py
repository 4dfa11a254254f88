"""Foundations that every other package uses; nothing here knows about voices, radio or screens.

Read `models` (the values that packages pass to each other) and `conditions` (the radio channel as
data), then `errors`, `validation` and `structuring` (input from outside), and the small helpers
`paths`, `audio_files`, `arrays`, `random_streams`, `entrypoints` and `text_blocks` as needed.
"""
