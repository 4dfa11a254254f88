"""The receiver of a hunt: the sum of its stations whatever the tuning; silence while sending."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from drill.core.conditions import Conditions, Fading, Receiver, Transmitter
from drill.core.models import Samples
from drill.hunt.sound import BLOCK, RAMP_SAMPLES, HuntSound, SignalOnAir
from drill.radio import AUDIO_RATE_HZ
from drill.radio.transmitter import transmit_neighbour
from tests.drill.radio.sounds import voice_like

ONE_STEP = 1 / 32768
DIAL_HZ = 14_200_000.0
BLOCKS = 5 * AUDIO_RATE_HZ // BLOCK
OFFSETS_HZ = (0.0, 730.0, -3_500.0, 4_800.0, 60_000.0)
LEVELS_DB = (0.0, 6.0, 25.0, 40.0, 50.0)
VOICES = {
    overdrive_db: transmit_neighbour(
        voice_like(), Transmitter(overdrive_db=overdrive_db), 5000.0
    ).samples
    for overdrive_db in (0.0, 6.0)
}


def transmission(number: int, start: int) -> SignalOnAir:
    """Return an over of one of five stations, of which the last is out of reach."""
    return SignalOnAir(
        transmitter=f"station {number}",
        carrier_hz=DIAL_HZ + OFFSETS_HZ[number],
        path_seed=number,
        fading=Fading(delay_ms=0.5, spread_hz=0.5),
        level_db=lambda at_s: LEVELS_DB[number] + 3 * np.sin(at_s),
        start=start,
        signal=VOICES[6.0 if number == 3 else 0.0],
    )


def overs(number: int) -> list[SignalOnAir]:
    """Return the overs of a station during at least 5 s."""
    length = len(VOICES[0.0]) + 8000
    return [transmission(number, 2000 * number + index * length) for index in range(4)]


def listen(
    numbers: Sequence[int] = range(5),
    *,
    turns: dict[int, float] | None = None,
    linear: bool = True,
    start: int = 0,
    agc: str = "medium",
) -> NDArray[np.float32]:
    """Return 5 s of output. turns: frequency of the dial by number of block."""
    sound = HuntSound(
        dial_hz=DIAL_HZ,
        seed=3,
        conditions=Conditions(receiver=Receiver(agc=agc)),
        linear=linear,
        noise=not linear,
        start=start,
    )
    waiting = sorted(
        (over for number in numbers for over in overs(number)), key=lambda over: over.start
    )
    parts: list[Samples] = []
    for block in range(start // BLOCK, BLOCKS):
        while waiting and waiting[0].start <= sound.now + 2 * BLOCK:
            sound.add(waiting.pop(0))
        if turns and block in turns:
            sound.turn(turns[block])
        parts.append(sound.receive())
    audio = np.concatenate(parts)
    assert sound.now == BLOCKS * BLOCK
    assert sound.played == start + len(audio)
    return audio


def test_the_output_is_the_sum_of_the_outputs_for_each_station_alone() -> None:
    together = listen()
    alone = sum(listen([number]) for number in range(5))
    assert np.max(np.abs(together - alone)) < ONE_STEP * np.max(np.abs(together))
    assert not np.any(listen([4]))


@settings(max_examples=8)
@given(
    turns=st.lists(st.tuples(st.integers(0, 40), st.floats(-70_000, 70_000)), max_size=6),
    agc=st.sampled_from(["off", "quick"]),
)
def test_earlier_tuning_does_not_change_the_output(
    turns: list[tuple[int, float]], agc: str
) -> None:
    """The dial is back after 1.3 s; AGC "quick" depends on the tuning for another 2 s."""
    way = {block: DIAL_HZ + offset_hz for block, offset_hz in turns}
    moved = listen(turns={**way, 41: DIAL_HZ}, linear=False, agc=agc)
    still = listen(linear=False, agc=agc)
    settled = slice(3 * AUDIO_RATE_HZ + AUDIO_RATE_HZ // 2, None)
    assert np.max(np.abs(moved[settled] - still[settled])) < ONE_STEP


def test_reception_that_begins_later_gives_the_same_sound() -> None:
    whole, start = listen(), 64 * BLOCK
    late = listen(start=start)
    settled = slice(AUDIO_RATE_HZ // 2, None)
    error = late[settled] - whole[start:][settled]
    assert np.max(np.abs(error)) < ONE_STEP * np.max(np.abs(whole))


def test_the_receiver_is_silent_while_the_trainee_transmits() -> None:
    span = (20_000, 41_111)
    sound = HuntSound(dial_hz=DIAL_HZ, seed=3, conditions=Conditions())
    usual = HuntSound(dial_hz=DIAL_HZ, seed=3, conditions=Conditions())
    sound.silence([(1000, 2000)])
    sound.silence([span])
    audio, expected, silent = [], [], []
    for _ in range(BLOCKS):
        audio.append(sound.receive())
        expected.append(usual.receive())
        silent += [sound.is_silent] * len(audio[-1])
    heard, noise = np.concatenate(audio), np.concatenate(expected)
    inside = slice(span[0] + RAMP_SAMPLES, span[1] - RAMP_SAMPLES)
    assert not np.any(heard[inside])
    assert np.all(silent[inside.start + BLOCK : inside.stop - BLOCK])
    outside = [*range(span[0]), *range(span[1], len(heard))]
    assert np.array_equal(heard[outside], noise[outside])
    assert np.all(np.abs(heard) <= np.abs(noise))


def test_overs_that_have_been_heard_are_forgotten() -> None:
    """Memory does not grow with the number of overs."""
    sound = HuntSound(dial_hz=DIAL_HZ, seed=3, conditions=Conditions())
    sound.add(transmission(0, 0))
    for _ in range(len(VOICES[0.0]) // BLOCK + 2):
        sound.receive()
    assert not sound._stations


@pytest.mark.parametrize("offset_hz", [200.0, -200.0])
def test_the_meter_reads_a_strong_station(offset_hz: float) -> None:
    sound = HuntSound(dial_hz=DIAL_HZ + offset_hz, seed=3, conditions=Conditions())
    sound.add(transmission(2, 0))
    sound.turn(DIAL_HZ + OFFSETS_HZ[2] + offset_hz)
    readings = []
    for _ in range(40):
        sound.receive()
        readings.append(sound.level_db)
    assert 20 < max(readings) < 40
