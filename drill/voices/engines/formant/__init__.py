"""The formant voice: Klatt synthesis by the espeak-ng library, in a process of its own.

Read engine first, then voice_file (an operator as a voice of the library) and worker (the process).
"""
