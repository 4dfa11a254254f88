"""Item sets: audio files with a manifest and a printable answer sheet, for use without faintcall.

Read `write` first, then `answer_sheet`.
"""
