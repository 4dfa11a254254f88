"""A simulated HF single-sideband channel, from the far operator's microphone to the headphones.

Reading order: `channel` joins the stages, which are `transmitter` (with `speech_processing`,
`level_control` and `amplifier`), `fading` (with `fading_taps`), `noise`, `interference`,
`neighbours` and `receiver`. They share `levels` (the definitions of level and SNR), `filters` (the
block filter) and `gain_control`. `presets` reads named conditions. A whole band to tune over has
stages of its own: `oscillator`, `band_station` and `band_receiver`.

Between transmitter and receiver a signal is complex baseband: 0 Hz represents CENTRE_HZ of audio in
a receiver tuned to the wanted station, and the audio is the real part of the signal shifted up by
CENTRE_HZ. Noise with a one-sided audio density of N0 therefore has a complex power of 2 N0 per
hertz.
"""

BASEBAND_RATE_HZ = 4_000
"""Complex sampling rate at the receiver's input: -500 to 3500 Hz of audio."""
TRANSMITTER_RATE_HZ = 8_000
"""Complex sampling rate of speech processing, and of stations close to the receiver's frequency."""
SPLATTER_RATE_HZ = 16_000
"""Complex sampling rate of stations further away, whose splatter is all that can be heard."""
CENTRE_HZ = 1500.0
"""Audio frequency that 0 Hz of the complex baseband represents."""
AUDIO_RATE_HZ = 16_000
"""Sampling rate of the audio that the receiver delivers."""
