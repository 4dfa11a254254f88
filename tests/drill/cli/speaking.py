"""A trainee at the microphone for the tests of `faintcall speak`: takes, device and far end."""

from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from drill.core.models import Clip, Samples
from drill.recogniser.own.voice_check import VoiceCheck
from drill.sending.far_copies import FarCopies
from drill.sending.far_end import FarEnd, FarEnds
from drill.sending.intelligibility import EnvelopeCorrelation
from drill.sending.prompts import compose_prompt
from drill.voices.operators import find_operator
from tests.drill.devices.fake_input import FakeInputLibrary
from tests.drill.sending.takes import own_station
from tests.tools.defects import DEFECTS, spoil_take

RATE_HZ = 24_000
PROMPT = compose_prompt("call", own_station(), 4)
SPEAK_COMMAND = ["speak", "--call", "E87ABC", "--prompt", "call", "--seed", "4"]
LEAD_IN_S, LEAD_OUT_S = 0.9, 3.0
"""Noise of the room before and after a take. The take itself ends in 0.4 s of it."""


def room_noise(seconds: float, seed: int = 0) -> Samples:
    """Return noise at -65 dB re full scale."""
    samples = np.random.default_rng(seed).normal(0, 10 ** (-65 / 20), round(seconds * RATE_HZ))
    return samples.astype(np.float32)


@cache
def spoken_take(defect: str = "none") -> Samples:
    """Return a take of PROMPT with a defect, as the microphone delivers it: noise, voice, noise."""
    clip = spoil_take(PROMPT, find_operator("slate"), DEFECTS[defect], 4).clip
    assert clip.rate_hz == RATE_HZ
    return np.concatenate((room_noise(LEAD_IN_S), clip.samples, room_noise(LEAD_OUT_S, seed=1)))


class FakeMicrophone(FakeInputLibrary):
    """An input device that delivers one sound for each recording and then stops."""

    def __init__(self, *sounds: Samples, device: bool = True) -> None:
        super().__init__(device=device, rate_hz=RATE_HZ)
        self.sounds = list(sounds)

    def InputStream(self, *, channels: int, callback: Any, **given: Any) -> SimpleNamespace:
        self.sound = self.sounds.pop(0)
        return super().InputStream(channels=channels, callback=callback, **given)


def far_ends() -> FarEnds:
    """Return a far end at three powers; the reference voice is twice as long as the take."""
    return FarEnds(
        ends=tuple(
            FarEnd(
                watts=watts,
                snr_db=0.0,
                clip=Clip(samples=np.full(100, 0.1, np.float32), rate_hz=16_000),
                reference_clip=Clip(samples=np.full(200, 0.1, np.float32), rate_hz=16_000),
                indices=(0.3,),
                reference_indices=(0.3,),
                correlation=EnvelopeCorrelation(bands=(), times=()),
            )
            for watts in (100.0, 20.0, 5.0)
        ),
        operator="meadow",
        behind_db=None,
    )


def far_copies() -> FarCopies:
    """Return copies of a take that the recogniser understands too badly to judge it in noise."""
    return FarCopies(operator="meadow", tries=5, check=VoiceCheck(words=6, right=1), powers=())


def replace_far_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Replace the simulated far end and the recogniser's copies by fixed results."""
    dialogue = "drill.cli.speak_dialogue"
    monkeypatch.setattr(f"{dialogue}.simulate_far_ends", lambda *_, **__: far_ends())
    monkeypatch.setattr(f"{dialogue}.copy_far_ends", lambda *_, **__: far_copies())
