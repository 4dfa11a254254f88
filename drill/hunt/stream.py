"""A hunt as a stream of sound: a thread runs the story, and whoever plays the sound pulls it.

The story may wait for speech, because it runs ahead of the ear; the sound never does. It is made
block by block when it is pulled. If the story comes too late, no block is given: the clock halts,
and nothing is skipped. What is heard does not depend on the timing of the two threads.
"""

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from drill.core.errors import FaintcallError
from drill.core.models import Clip, Samples
from drill.hunt.acts import TUNE, HuntAct
from drill.hunt.events import HuntEvent
from drill.hunt.live import STORY_REACH_HZ, LiveHunt
from drill.hunt.signals import SignalCollector
from drill.hunt.sound import BLOCK, LOOKAHEAD, HuntSound, SignalOnAir
from drill.items.prefetch_worker import SpeechRequest
from drill.radio.band_receiver import REACH_HZ

MARGIN_HZ = STORY_REACH_HZ - REACH_HZ
"""A turn of the dial up to this wide reaches no station that the story has not prepared."""
CHANNELS_PER_STEP = 2
"""Number of stations out of reach that each step brings up to date."""
RECENT_SPANS = 4
"""Number of the trainee's last overs that may still be silencing the receiver."""


class RunningHunt(Protocol):
    """A hunt with its record; `live` is its state."""

    live: LiveHunt

    def act(self, act: HuntAct, clip: Clip | None = None) -> list[HuntEvent]:
        """Record and perform an act."""
        ...

    def advance(self, to: int) -> list[HuntEvent]:
        """Advance the ear time."""
        ...


@dataclass(frozen=True, kw_only=True, eq=False)
class SoundBlock:
    """A block of sound.

    at: time of its first sample. samples: float32, shape (n,). dial_hz, level_db, sends: what the
    receiver's dial and meter show, and whether the trainee transmits.
    """

    at: int
    samples: Samples
    dial_hz: float
    level_db: float
    sends: bool


@dataclass(frozen=True, kw_only=True)
class _Story:
    """What the sound has to know of the story: the time and the dial up to which it is complete."""

    known_until: int
    dial_hz: float
    silences: tuple[tuple[int, int], ...]
    ended: bool


class HuntStream:
    """The sound of a hunt and the acts of the trainee.

    prepare: called with the speech that will be needed. listener: called in the story's thread
    after each step, with the state and what happened; it must not keep the state. Run the story
    with `run`, in a thread of its own.
    """

    def __init__(
        self,
        hunt: RunningHunt,
        *,
        prepare: Callable[[Sequence[SpeechRequest]], None] = lambda requests: None,
        listener: Callable[[LiveHunt, list[HuntEvent]], None] = lambda live, events: None,
    ) -> None:
        """Begin at the hunt's present time, or at the next whole block."""
        live, plan = hunt.live, hunt.live.setup.plan
        self._hunt, self._listener = hunt, listener
        self._collector = SignalCollector(plan.conditions.fading, prepare)
        self._sound = HuntSound(
            dial_hz=live.dial_hz,
            seed=plan.seed,
            conditions=plan.conditions,
            start=-(-live.now // BLOCK) * BLOCK,
        )
        self._changed = threading.Condition()
        self._acts: list[tuple[HuntAct, Clip | None]] = []
        self._arrived: list[SignalOnAir] = []
        self._story = _Story(known_until=0, dial_hz=live.dial_hz, silences=(), ended=False)
        self._stepped_to = -1
        self._caught_up = 0
        self._failure: FaintcallError | None = None
        self._closed = False

    # --- for the screen, from any thread

    @property
    def now(self) -> int:
        """Ear time in samples; an act takes effect here."""
        return self._sound.now

    @property
    def ended(self) -> bool:
        """True once the hunt has ended and no more sound comes."""
        return self._story.ended

    def act(
        self,
        kind: str,
        *,
        text: str = "",
        hz: float | None = None,
        line: int | None = None,
        clip: Clip | None = None,
    ) -> None:
        """Act now. The parameters are those of HuntAct. Raises: UserError for a wrong act."""
        with self._changed:
            act = HuntAct(at=self._sound.now, kind=kind, text=text, hz=hz, line=line)
            if kind == TUNE and hz is not None:
                self._sound.turn(hz)
            self._acts.append((act, clip))
            self._changed.notify_all()

    def pull(self) -> SoundBlock | None:
        """Return the next block of sound, None if the story is not ready or has ended.

        Raises: NoVoice and other errors that stopped the story.
        """
        with self._changed:
            self.raise_failure()
            if not self._is_ready():
                return None
            for signal in self._arrived:
                self._sound.add(signal)
            self._arrived.clear()
            self._sound.silence(self._story.silences)
            at, sends = self._sound.played, self._sound.is_silent
            samples = self._sound.receive()
            self._changed.notify_all()
        return SoundBlock(
            at=at,
            samples=samples,
            dial_hz=self._sound.dial_hz,
            level_db=0.0 if sends else self._sound.level_db,
            sends=sends,
        )

    def raise_failure(self) -> None:
        """Raise the error that stopped the simulation, if there was one."""
        if self._failure is not None:
            raise self._failure

    def wait_until_ready(self, timeout_s: float) -> bool:
        """Wait until `pull` gives a block or raises; return False if that takes too long."""
        with self._changed:
            return self._changed.wait_for(
                lambda: self._is_ready() or self._failure is not None or self._closed, timeout_s
            )

    def _is_ready(self) -> bool:
        """Return whether the story is known far enough for the next block."""
        sound, story = self._sound, self._story
        return (
            not story.ended
            and story.known_until >= sound.now + LOOKAHEAD
            and abs(sound.dial_hz - story.dial_hz) <= MARGIN_HZ
        )

    # --- the simulation

    def run(self) -> None:
        """Run the simulation until the hunt ends or `stop` is called.

        Raises: NoVoice and other errors of the simulation; `pull` raises them too.
        """
        try:
            while self._wait_for_work():
                self.step()
        except FaintcallError as error:
            with self._changed:
                self._failure = error
                self._changed.notify_all()
            raise

    def stop(self) -> None:
        """Make `run` return after the acts so far; called from another thread."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()

    def step(self) -> None:
        """Perform the waiting acts and bring the story up to the ear. Raises: NoVoice."""
        with self._changed:
            acts, self._acts = self._acts, []
            to = self._stepped_to = self._sound.now
        events: list[HuntEvent] = []
        for act, clip in acts:
            events += self._hunt.act(act, clip)
        events += self._hunt.advance(to)
        live = self._hunt.live
        near = live.channels_in_reach(max(0, to - BLOCK), to)
        arrived = self._collector.collect(near, since=to)
        with self._changed:
            self._arrived += arrived
            self._story = _Story(
                known_until=live.story_now,
                dial_hz=live.dial_hz,
                silences=tuple(live.sending[-RECENT_SPANS:]),
                ended=bool(live.ended),
            )
            self._changed.notify_all()
        self._listener(live, events)
        self._catch_up(live)

    def _catch_up(self, live: LiveHunt) -> None:
        """Bring a few other stations up to date, so that a long way of the dial is no long wait."""
        channels = list(live.channels.values())
        for _ in range(CHANNELS_PER_STEP):
            self._caught_up = (self._caught_up + 1) % len(channels)
            channels[self._caught_up].catch_up(live.story_now)

    def _wait_for_work(self) -> bool:
        """Wait for an act or for time that has passed; return False at the end."""
        with self._changed:
            self._changed.wait_for(
                lambda: self._closed or bool(self._acts) or self._sound.now > self._stepped_to
            )
            return bool(self._acts) or not (self._closed or self._story.ended)
