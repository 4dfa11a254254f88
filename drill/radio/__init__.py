"""The radio path from the far operator's microphone to the trainee's ears.

Order of the rooms: transmitter -> ionosphere -> noise, interference, neighbours -> receiver. path
joins them; levels holds the definitions of level and SNR that all of them use.

Signals inside are complex and stand for a slice of the spectrum: the value at the centre of the
slice is CENTRE_HZ of audio, as a receiver tuned to the wanted station would give it. The real part
of the analytic signal is the sound. A slice has 2 N0 of complex noise power per hertz where N0 is
the one-sided density of the sound.
"""

CORE_RATE_HZ = 4_000
"""Complex rate of the slice that the receiver looks at, -500 to 3500 Hz of audio."""
WIDE_RATE_HZ = 8_000
"""Complex rate where a signal is bent: room for what that makes beside the band."""
CENTRE_HZ = 1500.0
"""Audio frequency at the centre of either."""
RADIO_RATE_HZ = 16_000
"""Rate of the sound that comes out of the receiver."""
