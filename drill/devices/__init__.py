"""The sound devices of this computer: `output` plays clips, `microphone` records them.

Only `portaudio` imports sounddevice; it also has the remedies if something is missing.
"""
