"""Item sets: audio files with a manifest, answer sheets and a key, for use without faintcall.

Read `write` first, then `answer_sheet` and `track`; `read` reads a set back.
"""
