"""Test signals for the checks, and the linear part of the channel that they go through."""

from functools import lru_cache

import numpy as np

from drill import voices
from drill.core.conditions import Conditions
from drill.core.errors import NoVoice
from drill.core.models import Clip, Samples
from drill.radio import BASEBAND_RATE_HZ, CENTRE_HZ
from drill.radio.channel import CHUNK_SAMPLES, Channel
from drill.radio.filters import ComplexArray
from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.message import Word

CHECK_SEED = 20


@lru_cache(maxsize=1)
def spoken_alphabet() -> Clip:
    """Return the whole alphabet, spoken by one operator. Raises: NoVoice."""
    words = tuple(Word(say=word.lower(), pause=",") for word in ITU_CODE_WORDS.values())
    # The formant engine is the fastest; if it is missing, any other is used.
    operators = sorted(voices.usable_operators(), key=lambda operator: operator.engine != "formant")
    if not operators:
        raise NoVoice(
            "the self-check needs a voice, and no speech engine works; run `faintcall voices`"
        )
    return voices.speak(words, operators[0], 1)


def carrier(audio_hz: float, seconds: float) -> ComplexArray:
    """Return an unmodulated carrier, heard at this audio frequency with a power of 1."""
    time = np.arange(round(seconds * BASEBAND_RATE_HZ)) / BASEBAND_RATE_HZ
    cycles = (audio_hz - CENTRE_HZ) * time
    return np.asarray(np.sqrt(2) * np.exp(2j * np.pi * cycles), np.complex64)


def silence(seconds: float) -> ComplexArray:
    """Return the baseband of a station that transmits nothing."""
    return np.zeros(round(seconds * BASEBAND_RATE_HZ), np.complex64)


def linear_output(conditions: Conditions, signal: ComplexArray) -> Samples:
    """Return the output of the receiver's filter, before AGC and limiter."""
    channel = Channel(conditions, CHECK_SEED, linear=True)
    return run_in_chunks(channel, signal, CHUNK_SAMPLES)


def run_in_chunks(channel: Channel, signal: ComplexArray, chunk: int) -> Samples:
    """Return the whole output of a new channel that gets the signal in chunks of this size."""
    parts = [
        channel.process(signal[start : start + chunk]) for start in range(0, len(signal), chunk)
    ]
    return np.concatenate([*parts, channel.finish()])
