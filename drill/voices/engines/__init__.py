"""Speech engines: from words and an operator to sound. Each implements drill.voices.SpeechEngine.

natural (a small neural model) and formant (the espeak-ng library) are always installed. studio (a
large neural model) is an extra. system uses the voices of the operating system. chunks splits long
overs for the neural models; worker_process and worker_server run libraries in their own processes.
"""
