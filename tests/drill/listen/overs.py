"""A short over for the tests of figures and pictures."""

import numpy as np

from drill.core.models import Clip
from drill.listen.plot import Panel
from drill.radio import AUDIO_RATE_HZ
from drill.radio.presets import load_preset


def noise_panel() -> Panel:
    """Return a panel with two seconds of noise, received without fading."""
    noise = np.random.default_rng(1).normal(0, 0.05, 32_000).astype(np.float32)
    clip = Clip(samples=noise, rate_hz=AUDIO_RATE_HZ)
    return Panel(title="one", clip=clip, conditions=load_preset("plain").conditions, seed=1)
