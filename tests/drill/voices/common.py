"""Test data for voices: an over, and an operator of each engine."""

from functools import cache

import numpy as np

from drill import voices
from drill.core.models import Clip, Operator, WordTime
from drill.voices.engines.system.engine import system_operator, system_voices
from drill.voices.operators import find_operator
from phonetics.message import Word

OVER = (
    Word(say="echo", means="E", field="call"),
    Word(say="eight", means="8", field="call"),
    Word(say="seven", means="7", field="call", pause=","),
    Word(say="x-ray", means="X", field="call"),
    Word(say="quebec", means="Q", field="call"),
    Word(say="papa", means="P", field="call", pause="."),
    Word(say="you're"),
    Word(say="five", means="5", field="report"),
    Word(say="nine", means="9", field="report"),
    Word(say="twenty-six", means="26", field="zone"),
)
SHORT = OVER[:3]
ENGINES = {"natural": "copper", "formant": "tin", "studio": "squall"}
"""Engines that give the same samples each time, and an operator of each."""


def example_operator(engine: str) -> Operator:
    if engine == "system":
        return system_operator(system_voices()[0].operator_name)
    return find_operator(ENGINES[engine])


@cache
def missing_reason(engine: str) -> str:
    """Return why an engine cannot be tested here, "" if it can.

    The system may have no voice, and the extra `studio` may not be installed.
    """
    return voices.find_engine(engine).problem() if engine in ("studio", "system") else ""


def small_clip(seed: int, size: int = 2000) -> Clip:
    samples = np.random.default_rng(seed).uniform(-1, 1, size).astype(np.float32)
    return Clip(
        samples=samples, rate_hz=8000, words=(WordTime(say="x", start_s=0.1 / 3, end_s=0.2),)
    )
