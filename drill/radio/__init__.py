"""The radio path from the far operator's microphone to the trainee's ears.

Order of the rooms: transmitter -> ionosphere -> noise -> receiver. path joins them, levels holds
the definitions of level and SNR that all of them use.
"""

RADIO_RATE_HZ = 16_000
"""Sample rate of the whole path: a 2.4 kHz voice channel with room for filters and tuning."""
