"""From clean speech to the features of a training batch."""

import torch
from torch import Tensor
from torch.nn import functional

from drill.recogniser.own.front_end import BANDS
from tests.tools.train_recogniser.augment_channel import received
from tests.tools.train_recogniser.augment_voice import read_at_speed, transmitted
from tests.tools.train_recogniser.config import AugmentationConfig
from tests.tools.train_recogniser.draws import Draws
from tests.tools.train_recogniser.features import CURVES, WARPS, BatchFeatures, normalised

NEPER_DB = 4.343
WARP_SPREAD = 7.0
LONGEST_MASK, WIDEST_MASK = 12, 7
CLEAN_DB = 50.0
PACE_KNOT_FRAMES, PACE_SPREAD_FRAMES = 40, 4.0
"""Varied pace: distance in frames between random shifts, and standard deviation of a shift in
frames."""


class Augmentation:
    """Changes batches at random on their device; draws come from torch's generators."""

    def __init__(self, config: AugmentationConfig, samples: int, device: torch.device) -> None:
        """Prepare for items of `samples` samples at 8 kHz."""
        self._config, self._samples, self._device = config, samples, device
        self._features = BatchFeatures(device)
        fused = device.type == "cuda"  # one kernel in place of sixty
        self._read = torch.compile(read_at_speed) if fused else read_at_speed

    @torch.no_grad()
    def __call__(self, sound: Tensor, speed: Tensor, more_snr_db: float = 0.0) -> Tensor:
        """Return the features of noisy, altered sound, shape (batch, frames, BANDS).

        sound: clean, (batch, n). speed: at which each item is read, (batch, 1). more_snr_db: added
        to every SNR.
        """
        draws = Draws(len(sound), self._device)
        voice = self._read(sound, speed, self._samples)
        voice = transmitted(voice, self._config, draws)
        heard = received(voice, self._snr_db(draws) + more_snr_db, self._config, draws)
        return self._features_of(heard, draws)

    def _snr_db(self, draws: Draws) -> Tensor:
        config = self._config
        wide = draws.even(*config.wide_snr_db)
        snr_db = torch.where(
            draws.chance(config.share_mid_snr), draws.even(*config.mid_snr_db), wide
        )
        return torch.where(draws.chance(config.share_clean), CLEAN_DB, snr_db)

    def _at_varied_pace(self, level: Tensor, draws: Draws) -> Tensor:
        """Return features with frames repeated and left out, so that the pace wanders."""
        batch, count, bands = level.shape
        knots = torch.randn(batch, 1, count // PACE_KNOT_FRAMES + 2, device=self._device)
        moved = functional.interpolate(knots * PACE_SPREAD_FRAMES, size=count, mode="linear")[:, 0]
        moved = moved * draws.chance(self._config.pace)
        source = (torch.arange(count, device=self._device) + moved).round().long()
        source = source.clamp(0, count - 1).cummax(1)[0]
        return torch.gather(level, 1, source[..., None].expand(-1, -1, bands))

    def _features_of(self, sound: Tensor, draws: Draws) -> Tensor:
        """Return features with a warped frequency axis, the gain of an AGC, and masks."""
        config, middle = self._config, len(WARPS) // 2
        steps = (draws.normal(WARP_SPREAD * config.warp)[:, 0]).round().long()
        curved = len(WARPS) + torch.randint(CURVES, (len(sound),), device=self._device)
        warps = torch.where(
            draws.chance(config.curved_warp)[:, 0], curved, steps.clamp(-middle, middle) + middle
        )
        level, loudness = self._features.log_bands(sound, warps)
        time = torch.arange(level.shape[1], device=self._device)[None]
        fall = draws.even_log(12, 150) / 100 * time
        ruling = torch.cummax(loudness * NEPER_DB + fall, 1)[0] - fall
        depth = draws.chance(config.gain_control) * draws.even(0.3, 1.0)
        level = normalised(level - (depth * ruling / NEPER_DB)[..., None])
        level = self._at_varied_pace(level, draws)
        bands = torch.arange(BANDS, device=self._device)[None]
        for _ in range(2):
            start, width = draws.even(0, level.shape[1]), draws.even(0, LONGEST_MASK)
            width = width * draws.chance(config.masks)
            level = level * ~((time >= start) & (time < start + width))[..., None]
            start, width = draws.even(0, BANDS), draws.even(0, WIDEST_MASK)
            width = width * draws.chance(config.masks)
            level = level * ~((bands >= start) & (bands < start + width))[:, None]
        return level
