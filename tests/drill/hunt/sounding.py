"""Test data for hunts with sound: a set-up, and speech that needs no voice."""

from collections.abc import Callable, Sequence

from drill.core.models import Clip, Operator, WordTime
from drill.hunt.acts import HuntAct
from drill.hunt.events import HuntEvent
from drill.hunt.live import LiveHunt
from drill.hunt.setup import HuntOptions, HuntSetup, create_hunt_setup
from drill.items.prefetch_worker import SpeechRequest
from drill.session.options import SessionOptions
from phonetics.message import Word
from tests.drill.radio.sounds import voice_like

WORD_S = 0.4


def ten_minutes(seed: int = 5) -> HuntSetup:
    """Return the set-up of a hunt on a jammed band, with a quick voice."""
    return create_hunt_setup(
        SessionOptions(seed=seed, mix="unassigned", voices=("rivet",)),
        HuntOptions(call="E87ABC", voice="rivet", minutes=10.0),
    )


class NoiseSpeech:
    """Speech of noise with the rhythm of a voice, WORD_S per word.

    before: called for each over; the simulation waits until it returns.
    """

    def __init__(self, before: Callable[[], object] = lambda: None) -> None:
        """Compute the sound of the longest over."""
        self._before = before
        self._longest = voice_like(20.0)

    def warm_up(self, operator: Operator) -> None:
        """Do nothing; there is no process."""

    def prepare(self, requests: Sequence[SpeechRequest]) -> None:
        """Do nothing; the speech is quick."""

    def speak(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return a clip. See SpeechSource."""
        self._before()
        count = round(len(words) * WORD_S * self._longest.rate_hz)
        times = tuple(
            WordTime(say=word.say, start_s=index * WORD_S, end_s=(index + 1) * WORD_S)
            for index, word in enumerate(words)
        )
        first = seed % 1000
        return Clip(
            samples=self._longest.samples[first : first + count],
            rate_hz=self._longest.rate_hz,
            words=times,
        )


class UnrecordedHunt:
    """A hunt without a record."""

    def __init__(self, live: LiveHunt) -> None:
        """Wrap a hunt."""
        self.live = live

    def act(self, act: HuntAct, clip: Clip | None = None) -> list[HuntEvent]:
        """Perform an act."""
        return self.live.act(act, clip)

    def advance(self, to: int) -> list[HuntEvent]:
        """Advance the ear time."""
        return self.live.advance(to)
