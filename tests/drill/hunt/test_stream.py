"""A hunt as a stream: the same sound whatever the timing of threads, and a clock that halts."""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray

from drill.contact.acts import BREAK_OFF, CALL, NOTE
from drill.core.errors import NoVoice
from drill.hunt.acts import END, TUNE
from drill.hunt.events import HuntEvent, PadChanged
from drill.hunt.live import LiveHunt
from drill.hunt.sound import BLOCK
from drill.hunt.stream import HuntStream, SoundBlock
from tests.drill.hunt.sounding import NoiseSpeech, UnrecordedHunt, ten_minutes

SETUP = ten_minutes()
Acts = dict[int, tuple[str, float | None]]
"""Kind and frequency of an act, by the number of the block before which it happens."""


def stream_of(before: Callable[[], object] = lambda: None) -> HuntStream:
    """Return a hunt at its start. before: called for every over that is spoken."""
    return HuntStream(UnrecordedHunt(LiveHunt(SETUP, speech=NoiseSpeech(before))))


def on_air_hz(offset_hz: float) -> float:
    """Return a frequency relative to that at the start."""
    return LiveHunt(SETUP).dial_hz + offset_hz


def acts_of_a_hunter() -> Acts:
    """Return turns of all sizes, a call that is broken off, and a call that is sent to its end."""
    return {
        10: (TUNE, on_air_hz(100.0)),
        11: (TUNE, on_air_hz(200.0)),
        30: (TUNE, on_air_hz(-3000.0)),
        60: (CALL, None),
        90: (BREAK_OFF, None),
        120: (TUNE, on_air_hz(12_000.0)),
        150: (CALL, None),
        170: (TUNE, on_air_hz(11_000.0)),
    }


def heard_step_by_step(acts: Acts, blocks: int) -> NDArray[np.float32]:
    """Return the sound of a hunt whose simulation is complete before each block."""
    stream, parts = stream_of(), []
    for number in range(blocks):
        if number in acts:
            stream.act(acts[number][0], hz=acts[number][1])
        stream.step()
        block = stream.pull()
        assert block is not None
        parts.append(block.samples)
    return np.concatenate(parts)


@contextmanager
def running(stream: HuntStream) -> Iterator[HuntStream]:
    """Run the simulation of a stream in a thread, as a screen does."""

    def run() -> None:
        with suppress(NoVoice):
            stream.run()

    thread = threading.Thread(target=run)
    thread.start()
    yield stream
    stream.stop()
    thread.join()


def pull(stream: HuntStream) -> SoundBlock:
    """Return the next block as soon as the simulation is ready."""
    while (block := stream.pull()) is None:
        stream.wait_until_ready(1.0)
    return block


def test_the_sound_does_not_depend_on_the_timing_of_the_threads() -> None:
    acts, blocks, rng = acts_of_a_hunter(), 220, Random(3)
    expected = heard_step_by_step(acts, blocks)
    parts = []
    with running(stream_of(before=lambda: time.sleep(rng.random() / 50))) as stream:
        for number in range(blocks):
            if number in acts:
                stream.act(acts[number][0], hz=acts[number][1])
            parts.append(pull(stream).samples)
    assert np.array_equal(np.concatenate(parts), expected)
    assert np.max(np.abs(expected)) > 0.05


def test_the_receiver_is_silent_during_the_trainees_overs() -> None:
    stream = stream_of()
    sends = []
    for number in range(100):
        if number == 20:
            stream.act(CALL)
        stream.step()
        block = stream.pull()
        assert block is not None
        sends.append((block.at, block.sends, bool(np.any(block.samples))))
    began = next(at for at, is_sending, _ in sends if is_sending)
    assert 0.3 < (began - 20 * BLOCK) / 16_000 < 0.5
    inside = [sounds for at, is_sending, sounds in sends if is_sending and at > began + BLOCK]
    assert len(inside) > 10
    assert not any(inside[:-1])


def test_the_clock_halts_for_late_speech_and_skips_nothing() -> None:
    expected = heard_step_by_step({}, 60)
    released = threading.Event()
    with running(stream_of(before=released.wait)) as stream:
        assert not stream.wait_until_ready(0.05)
        assert stream.pull() is None
        released.set()
        heard = np.concatenate([pull(stream).samples for _ in range(60)])
    assert np.array_equal(heard, expected)


def test_a_small_turn_of_the_dial_does_not_wait_for_the_simulation() -> None:
    stream = stream_of()
    stream.step()
    for _ in range(3):
        stream.act(TUNE, hz=on_air_hz(500.0))
        assert stream.pull() is not None
    stream.act(TUNE, hz=on_air_hz(20_000.0))
    assert stream.pull() is None
    stream.step()
    block = stream.pull()
    assert block is not None
    assert block.dial_hz == on_air_hz(20_000.0)


def test_acts_reach_the_simulation_with_their_ear_time() -> None:
    happened: list[HuntEvent] = []
    live = LiveHunt(SETUP)
    stream = HuntStream(UnrecordedHunt(live), listener=lambda _, events: happened.extend(events))
    stream.step()
    stream.pull()
    stream.act(NOTE, text="OH2QRK")
    stream.step()
    assert happened == [PadChanged(at=BLOCK)]
    assert live.pad.notes == ["OH2QRK"]


def test_the_stream_ends_with_the_hunt() -> None:
    with running(stream_of()) as stream:
        pull(stream)
        stream.act(END)
        while not stream.ended:
            stream.wait_until_ready(0.01)
        assert stream.pull() is None


def test_a_failure_of_the_simulation_is_raised_by_the_next_pull() -> None:
    def fail() -> None:
        raise NoVoice("no voice here")

    with running(stream_of(before=fail)) as stream, pytest.raises(NoVoice, match="no voice here"):
        pull(stream)
