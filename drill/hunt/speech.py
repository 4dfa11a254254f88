"""The source of a hunt's speech: the voices; with the accelerated clock there is no speech."""

import zlib
from collections.abc import Sequence
from dataclasses import replace
from typing import Protocol

from drill import voices
from drill.contact.air import OnAir, samples
from drill.contact.far_states import State
from drill.contact.overs import FAR, TRAINEE
from drill.contact.rendered_air import LEAD_S, TAIL_S
from drill.core.models import Clip, Operator
from drill.items.prefetch_worker import SpeechRequest
from phonetics.message import Word

GENERAL_CALLS = 4
"""Number of recordings of a station's general call; repeats come from the cache."""


class SpeechSource(Protocol):
    """Returns the speech of an over. It may block until the speech is ready."""

    def speak(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return the speech; equal arguments give equal clips. Raises: NoVoice."""
        ...


class VoiceSpeech:
    """Speech synthesised by the voices and cached by drill.voices."""

    def speak(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return the speech. See SpeechSource."""
        return voices.speak(words, operator, seed)


def speech_request(on_air: OnAir, seed: int) -> SpeechRequest | None:
    """Return words, operator and seed of an over's speech; None for an over from the microphone.

    seed: of the station on whose frequency it is sent. The trainee's words sound the same each
    time, on every frequency.
    """
    operator = on_air.participant.operator
    if operator is None or on_air.over.clip is not None:
        return None
    number = on_air.number
    if on_air.speaker == FAR and on_air.over.kind == State.CALLING.value:
        number %= GENERAL_CALLS
    name = TRAINEE if on_air.speaker == TRAINEE else f"{seed} {on_air.speaker} {number}"
    return SpeechRequest(
        words=on_air.over.words, operator=operator, seed=zlib.crc32(f"hunt {name}".encode())
    )


def speech_of(on_air: OnAir, source: SpeechSource | None, seed: int) -> Clip | None:
    """Return the speech of an over, None with the accelerated clock.

    seed: as in speech_request. Raises: NoVoice.
    """
    request = speech_request(on_air, seed)
    if source is None or request is None:
        return on_air.over.clip
    return source.speak(request.words, request.operator, request.seed)


def timed_by_speech(on_air: OnAir, clip: Clip | None) -> OnAir:
    """Return an over with the length and the word times of its speech; unchanged without any."""
    if clip is None:
        return on_air
    first = on_air.start + samples(LEAD_S)
    return replace(
        on_air,
        end=first + samples(clip.seconds) + samples(TAIL_S),
        times=tuple(
            (first + samples(word.start_s), first + samples(word.end_s)) for word in clip.words
        ),
    )
