"""The voice gate: which operators recognisers understand, in quiet and in noise.

An operator is drawn by default only if it passes. Read in this order: calls (what is spoken),
recognisers (own, whisper, pocketsphinx: none knows how a call is built), judge (shares of words and
the 50 % threshold of calls), work (clips and results on disk, so that a run can be continued),
table (the verdicts in Markdown).

Run by hand: python -m tests.tools.voice_gate [--into FILE] [--tuning] [-v] [OPERATOR ...]
"""
