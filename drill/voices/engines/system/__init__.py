"""The voices of the operating system, through pyttsx3 in its own process.

Read engine first, then word_times (estimated from silences and letters) and worker (the process).
"""
