"""One voice model bent into many speakers: its parts are changed before they become sound.

The model gives, for each frame of 12.5 ms, the logarithm of the magnitudes of a harmonic and of two
noise parts on 601 bins of 20 Hz, and the pitch. Pitch, resonances, breath and melody are therefore
changed one by one, which a change of the finished sound could not do.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drill.core.models import Operator
from drill.voices.people.styles import style_of

Grid = NDArray[np.float32]

MODEL_PITCH_HZ = 200.0  # median of the model's own pitch over composed calls
VOICED_HZ = 40.0  # the model's synthesis takes a lower pitch for unvoiced
LOWEST_HZ = 50.0
HIGHEST_HZ = 450.0
BIN_HZ = 20.0
FIRST_HZ = 900.0  # up to here is the first resonance, which a style may move alone
OTHERS_HZ = 2000.0  # from here on nothing is moved with it
NEPER_PER_DB = np.log(10) / 20


@dataclass(frozen=True, kw_only=True, eq=False)
class Parts:
    """What the model gives: log magnitudes (601, frames) in neper, phases in rad, pitch in Hz.

    harmonic: on the pulse train; turn: its phase before tanh; noise: random phase; residue: phase
    as given in phase; pitch_hz: (frames,), below 40 unvoiced.
    """

    harmonic: Grid
    turn: Grid
    noise: Grid
    residue: Grid
    phase: Grid
    pitch_hz: Grid


def bend(parts: Parts, operator: Operator) -> Parts:
    """Return the parts as the operator would speak them."""
    pitch_hz = _bend_pitch(parts.pitch_hz, operator)
    voiced = parts.pitch_hz > VOICED_HZ
    # More harmonics in a band at a lower pitch would raise the voice against its breath.
    even = np.zeros_like(pitch_hz)
    even[voiced] = 0.5 * np.log(pitch_hz[voiced] / parts.pitch_hz[voiced])
    breath = (voiced * (operator.breath_db * NEPER_PER_DB)).astype(np.float32)
    tract, first = operator.tract, style_of(operator).first
    return replace(
        parts,
        harmonic=_warp(parts.harmonic, tract, first) + even,
        turn=_warp(parts.turn, tract, first),
        noise=_warp(parts.noise, tract, first) + breath,
        residue=_warp(parts.residue, tract, first) + breath,
        pitch_hz=pitch_hz,
    )


def _bend_pitch(pitch_hz: Grid, operator: Operator) -> Grid:
    """Return the curve moved to the operator's pitch, its movement scaled on a log axis."""
    voiced = pitch_hz > VOICED_HZ
    bent = pitch_hz.copy()
    curve = operator.pitch_hz * (pitch_hz[voiced] / MODEL_PITCH_HZ) ** operator.melody
    bent[voiced] = np.clip(curve, LOWEST_HZ, HIGHEST_HZ)
    return bent


def _warp(grid: Grid, tract: float, first: float = 1.0) -> Grid:
    """Return the grid with its frequency axis stretched by tract, interpolated between bins.

    first: further factor below 900 Hz, where the first resonance is; it is 1 again at 2 kHz.
    """
    if tract == 1 and first == 1:
        return grid
    last = grid.shape[0] - 1
    source = np.minimum(np.arange(last + 1) / tract, last)
    if first != 1:
        low, high = FIRST_HZ / BIN_HZ, OTHERS_HZ / BIN_HZ
        source = np.interp(source, [0, low * first, high, last], [0, low, high, last])
    below = np.minimum(source.astype(np.intp), last - 1)
    share = (source - below).astype(np.float32)[:, None]
    return np.asarray(grid[below] * (1 - share) + grid[below + 1] * share, dtype=np.float32)
