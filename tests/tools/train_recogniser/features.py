"""The recogniser's front end in torch, for batches, with the changes that only training makes."""

import numpy as np
import torch
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from torch import Tensor

from drill.recogniser.own import front_end

WARPS = np.geomspace(0.82, 1.22, 41)
CURVES, CURVE_KNOTS, CURVE_SPREAD = 400, 6, 0.06
CURVE_TILT = 0.07
"""Curved warps: their number, the number of points over the bands, and the standard deviations of
the factor at each point and of the factor on all bands."""


def curved_warps() -> NDArray[np.float64]:
    """Return smooth curves of factors on the edges of the bands, (CURVES, BANDS + 2).

    Speakers differ in each formant, not in the length of the vocal tract alone.
    """
    rng = np.random.default_rng(1)
    knots = rng.normal(0, CURVE_SPREAD, (CURVES, CURVE_KNOTS)) + rng.normal(
        0, CURVE_TILT, (CURVES, 1)
    )
    place = np.linspace(0, CURVE_KNOTS - 1, front_end.BANDS + 2)
    curves = CubicSpline(np.arange(CURVE_KNOTS), knots, axis=1)(place)
    return np.asarray(np.exp(np.clip(curves, -0.24, 0.24)))


class BatchFeatures:
    """Log mel spectra of batches at 8 kHz, equal to drill.recogniser.own.front_end.log_mel."""

    def __init__(self, device: torch.device) -> None:
        """Put windows and band weights on the device."""
        warps = [*WARPS[:, None], *curved_warps()]
        warped = np.stack([front_end.band_weights(warp) for warp in warps])
        self._warped = torch.tensor(warped, dtype=torch.float32, device=device)
        self._plain = torch.tensor(front_end.band_weights(), dtype=torch.float32, device=device)
        self._window = torch.tensor(front_end.HANN, dtype=torch.float32, device=device)

    def log_bands(self, sound: Tensor, warps: Tensor | None = None) -> tuple[Tensor, Tensor]:
        """Return log power of the bands (batch, frames, bands) and level of each frame in neper.

        sound: (batch, samples). warps: for each item an index of WARPS, or len(WARPS) and the
        index of a curved warp.
        """
        sound = sound / sound.pow(2).mean(1, keepdim=True).sqrt().clamp(min=1e-6)
        frames = sound.unfold(1, front_end.WINDOW, front_end.HOP) * self._window
        power = torch.fft.rfft(frames, front_end.FFT_SIZE).abs().pow(2)
        bands = power @ self._plain if warps is None else torch.bmm(power, self._warped[warps])
        return torch.log(bands + front_end.POWER_FLOOR), torch.log(
            power.mean(-1) + front_end.POWER_FLOOR
        )

    def plain(self, sound: Tensor) -> Tensor:
        """Return the features of sound (batch, samples) as the recogniser computes them."""
        return normalised(self.log_bands(sound)[0])


def normalised(level: Tensor) -> Tensor:
    """Return log bands without their mean over time, scaled as the front end does."""
    return (level - level.mean(1, keepdim=True)) * front_end.SCALE
