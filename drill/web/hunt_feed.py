"""Feeds the page with the sound of a hunt: one thread runs the simulation, another the receiver.

The page reports how much it has played, and gets sound until QUEUED samples are under way. A page
that plays nothing, because the trainee has stopped the clock, gets nothing, and the time of the
hunt stands still.
"""

import json
import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from drill.contact.acts import VOICE
from drill.contact.machine_ears import has_far_recogniser, recognised_text
from drill.core.errors import AlreadyAnswered, FaintcallError, UserError
from drill.core.models import Clip
from drill.hunt.events import HuntEvent
from drill.hunt.live import LiveHunt
from drill.hunt.setup import HuntSetup
from drill.hunt.snapshot import hunt_snapshot
from drill.hunt.sound import BLOCK
from drill.hunt.stream import HuntStream, SoundBlock
from drill.hunt.worker_speech import shared_worker_speech
from drill.web.database import NotFoundError
from drill.web.hunt_messages import ActMessage, PlayedMessage, page_message, sound_message
from drill.web.hunt_sessions import HuntMemories
from drill.web.hunt_states import hunt_state_json

QUEUED = 3 * BLOCK
"""Maximum number of samples sent and not yet played: 96 ms. With more, the dial would react
late."""
HALT_NOTICE_S = 0.04
"""The page is told this long before its queue is empty that the clock halts."""
STATE_EVERY = 16_000
"""Samples between two comparisons of the state, because the words of a key depend on received
overs."""
NORMAL, GONE, OTHER_WINDOW, FAILED = 1000, 4004, 4001, 4000
"""Codes with which the server closes the socket."""

Send = Callable[[bytes | str], None]
Finish = Callable[[int, str], None]


class HuntFeed:
    """A running hunt for one window.

    memories: gives the hunt to the simulation's thread. send, finish: pass a message, or the code
    and reason of the end, to the socket; both are called from several threads.
    """

    def __init__(
        self, identity: str, memories: HuntMemories, *, send: Send, finish: Finish
    ) -> None:
        """Prepare; `start` begins."""
        self._identity, self._memories = identity, memories
        self._send, self.finish = send, finish
        self._credit = threading.Condition()
        self._played = self._sent = 0
        self._closed = False
        self._skips = self._was_sending = False
        self._stream: HuntStream | None = None
        self._setup: HuntSetup | None = None
        self._early_acts: list[ActMessage] = []
        self._state: dict[str, Any] = {}
        self._state_at = 0
        self._story = threading.Thread(target=self._run_story, name="hunt story", daemon=True)
        self._sound = threading.Thread(target=self._run_sound, name="hunt sound", daemon=True)

    def start(self) -> None:
        """Open the hunt and let its time pass as the page plays."""
        self._story.start()

    def close(self) -> None:
        """Stop, and wait until nothing uses the record any more."""
        with self._credit:
            self._closed = True
            self._credit.notify_all()
        if self._stream is not None:
            self._stream.stop()
        for thread in (self._story, self._sound):
            if thread.ident is not None and thread is not threading.current_thread():
                thread.join()

    def receive(self, text: str) -> None:
        """Handle a message of the page; refuse a wrong one, and continue the hunt."""
        try:
            message = page_message(text)
            if isinstance(message, PlayedMessage):
                self._set_played(message.to)
            else:
                self._act(message)
        except UserError as error:
            self._send_json("refused", error=" ".join(str(error).split()), field=error.field)

    def speak(self, clip: Clip) -> None:
        """Send an over by microphone. Its time has already passed, so the page skips its silence.

        Raises: UserError if the hunt is not running; NoRecogniser.
        """
        if self._stream is None or self._setup is None:
            raise UserError("the hunt is not running; start its clock first")
        exchange = self._setup.plan.load_exchange()
        text = recognised_text(clip, exchange) if has_far_recogniser() else ""
        with self._credit:
            self._skips = True
            self._credit.notify_all()
        self._stream.act(VOICE, text=text, clip=clip)

    def _set_played(self, to: int) -> None:
        if not 0 <= to <= self._sent:
            raise UserError(
                f"{to} samples cannot have been played; {self._sent} were sent", field="to"
            )
        with self._credit:
            self._played = max(self._played, to)
            self._credit.notify_all()

    def _act(self, message: ActMessage) -> None:
        """Perform an act now, or as soon as the hunt is open. Raises: UserError."""
        with self._credit:
            stream = self._stream
            if stream is None:
                self._early_acts.append(message)
        if stream is not None:
            stream.act(message.kind, text=message.text, hz=message.hz, line=message.line)

    def _open(self, stream: HuntStream) -> None:
        """Pass on the acts that came while the hunt was being opened."""
        with self._credit:
            self._stream = stream
            early, self._early_acts = self._early_acts, []
        for message in early:
            with suppress(UserError):
                self._act(message)

    # --- the simulation

    def _run_story(self) -> None:
        """Run the simulation until the end of the hunt or of the connection."""
        try:
            with self._memories.opened(self._identity) as session:
                prepare = shared_worker_speech().prepare
                stream = HuntStream(session, prepare=prepare, listener=self._tell)
                self._setup = session.setup
                self._tell(session.live, [])
                self._open(stream)
                if not self._closed:
                    self._sound.start()
                    stream.run()
        except AlreadyAnswered as error:
            self.finish(OTHER_WINDOW, str(error))
        except NotFoundError as error:
            self.finish(GONE, str(error))
        except FaintcallError as error:
            self.finish(FAILED, str(error))

    def _tell(self, live: LiveHunt, events: list[HuntEvent]) -> None:
        """Send the state if it has changed."""
        if self._state and not events and live.now < self._state_at + STATE_EVERY:
            return
        self._state_at = live.now
        state = hunt_state_json(hunt_snapshot(live))
        if state != self._state:
            self._state = state
            self._send_json("state", state=state, now=live.now)
        if live.ended:
            with self._credit:  # also while the page plays nothing
                self._credit.notify_all()

    # --- the sound

    def _run_sound(self) -> None:
        """Make blocks of sound as fast as the page plays them."""
        stream = self._stream
        runs: bool | None = None  # what the page knows
        assert stream is not None
        with suppress(FaintcallError):  # the simulation's thread reports the error
            while self._wait_for_credit():
                block = stream.pull()
                if block is None:
                    if stream.ended:
                        break
                    if runs is not False and not stream.wait_until_ready(HALT_NOTICE_S):
                        runs = False
                        self._send_json("clock", runs=False)
                    stream.wait_until_ready(1.0)
                    continue
                if not runs:
                    runs = True
                    self._send_json("clock", runs=True)
                self._deliver(block)
        if stream.ended:
            self._send_json("ended")
            self.finish(NORMAL, "")

    def _deliver(self, block: SoundBlock) -> None:
        """Send a block, unless its time passed while the trainee spoke an over."""
        if self._skips:
            self._skips = not self._has_sent_over(block)
            return
        if len(block.samples):  # none comes before the receiver's filters are full
            self._sent += len(block.samples)
            self._send(sound_message(block))

    def _has_sent_over(self, block: SoundBlock) -> bool:
        """Return True after the end of the over by microphone."""
        was_sending, self._was_sending = self._was_sending, block.sends
        return was_sending and not block.sends

    def _wait_for_credit(self) -> bool:
        """Wait until the page needs sound; return False when the connection is closed."""
        stream = self._stream
        assert stream is not None
        with self._credit:
            self._credit.wait_for(
                lambda: (
                    self._closed
                    or self._skips
                    or stream.ended
                    or self._sent - self._played < QUEUED
                )
            )
            return not self._closed

    def _send_json(self, kind: str, **content: Any) -> None:
        self._send(json.dumps({"type": kind, **content}))
