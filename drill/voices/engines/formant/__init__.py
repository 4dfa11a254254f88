"""The formant voice: Klatt synthesis by the espeak-ng library, in its own process.

Read engine first, then voice_file (an operator as a voice of the library) and worker (the process).
"""
