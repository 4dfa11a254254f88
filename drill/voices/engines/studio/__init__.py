"""The studio voice: a larger neural model with 54 voices, installed with the extra `studio`.

Read engine first, then model (runs the network), pauses (makes pauses long enough) and voice_files
(the model's voices and the user's own). SOURCES.md says where the data come from.
"""
