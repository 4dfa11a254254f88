"""The recogniser's front end in torch, for batches, with the changes that only training makes."""

import numpy as np
import torch
from torch import Tensor

from drill.recogniser.own import front_end

WARPS = np.geomspace(0.82, 1.22, 41)


class BatchFeatures:
    """Log mel spectra of batches at 8 kHz, equal to drill.recogniser.own.front_end.log_mel."""

    def __init__(self, device: torch.device) -> None:
        """Put windows and band weights on the device."""
        warped = np.stack([front_end.band_weights(float(warp)) for warp in WARPS])
        self._warped = torch.tensor(warped, dtype=torch.float32, device=device)
        self._plain = torch.tensor(front_end.band_weights(), dtype=torch.float32, device=device)
        self._window = torch.tensor(front_end.HANN, dtype=torch.float32, device=device)

    def log_bands(self, sound: Tensor, warp_steps: Tensor | None = None) -> tuple[Tensor, Tensor]:
        """Return log power of the bands (batch, frames, bands) and level of each frame in neper.

        sound: (batch, samples). warp_steps: for each item an index of WARPS.
        """
        sound = sound / sound.pow(2).mean(1, keepdim=True).sqrt().clamp(min=1e-6)
        frames = sound.unfold(1, front_end.WINDOW, front_end.HOP) * self._window
        power = torch.fft.rfft(frames, front_end.FFT_SIZE).abs().pow(2)
        bands = (
            power @ self._plain
            if warp_steps is None
            else torch.bmm(power, self._warped[warp_steps])
        )
        return torch.log(bands + front_end.POWER_FLOOR), torch.log(
            power.mean(-1) + front_end.POWER_FLOOR
        )

    def plain(self, sound: Tensor) -> Tensor:
        """Return the features of sound (batch, samples) as the recogniser has them."""
        return normalised(self.log_bands(sound)[0])


def normalised(level: Tensor) -> Tensor:
    """Return log bands without their mean over time, scaled as the front end does."""
    return (level - level.mean(1, keepdim=True)) * front_end.SCALE
