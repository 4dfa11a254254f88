"""The sound devices of this computer: `output` plays clips, `microphone` records them.

`portaudio` alone imports sounddevice and knows what to tell a user whose system lacks something.
"""
