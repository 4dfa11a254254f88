"""The link budget of an HF path: the SNR at both ends from power, antennas, losses and noise.

Reading order: `budget` (conventions, and the two directions of a circuit), `noise_levels` (ITU-R
P.372), `grades` (ITU-R F.339), `s_meter`, `antennas`; then `form` (the values that terminal and
page ask for) and `describe` (the sentences and tables that both display).
"""
