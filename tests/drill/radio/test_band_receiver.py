"""The receiver on a band: its output is the sum of the stations, however it is computed."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from drill.core.conditions import Conditions, Fading, Noise, Receiver, Transmitter
from drill.radio import AUDIO_RATE_HZ, SPLATTER_RATE_HZ
from drill.radio.band_receiver import BandReceiver
from drill.radio.band_station import BandStation
from drill.radio.channel import Channel
from drill.radio.levels import speech_level
from drill.radio.neighbours import tune
from drill.radio.transmitter import transmit, transmit_neighbour
from tests.drill.radio.measured import strongest_hz
from tests.drill.radio.sounds import voice_like

SAMPLES = 5 * AUDIO_RATE_HZ
ONE_STEP = 1 / 32768
VOICE = transmit_neighbour(voice_like(), Transmitter(), 5000.0).samples
WIDE_VOICE = transmit_neighbour(voice_like(), Transmitter(overdrive_db=10.0), 5000.0).samples
CARRIERS_HZ = (10_000.0, 10_730.0, 6_500.0, 60_000.0)


def station(number: int) -> BandStation:
    """Return one of four stations: on the dial frequency, beside it, splattering, out of reach."""
    created = BandStation(
        CARRIERS_HZ[number],
        Fading(delay_ms=0.5, spread_hz=0.5),
        number,
        lambda at_s: np.full_like(at_s, (0.0, 6.0, 40.0, 30.0)[number]),
    )
    signal = WIDE_VOICE if number == 2 else VOICE
    for start in range(1600 * number, SAMPLES, len(signal) + 8000):
        created.send(start, signal)
    return created


def heard(
    numbers: tuple[int, ...] = (0, 1, 2, 3),
    *,
    turns: tuple[tuple[int, float], ...] = (),
    chunk: int = 512,
    noise: Noise | None = None,
    agc: str = "medium",
    linear: bool = True,
) -> NDArray[np.float32]:
    """Return 5 s of output with the dial on 10 kHz. turns: (chunk number, new frequency in Hz)."""
    receiver = BandReceiver(
        dial_hz=10_000.0, seed=5, noise=noise, receiver=Receiver(agc=agc), linear=linear
    )
    receiver.stations = [station(number) for number in numbers]
    pending = dict(turns)
    parts = []
    for number in range(SAMPLES // chunk):
        if number in pending:
            receiver.turn(pending[number])
        parts.append(receiver.receive(chunk))
    return np.concatenate(parts)


def test_the_output_is_the_sum_of_the_stations() -> None:
    together = heard()
    alone = sum(heard((number,)) for number in range(4))
    assert np.max(np.abs(together - alone)) < ONE_STEP * np.max(np.abs(together))
    assert np.max(np.abs(heard((3,)))) == 0
    assert speech_level(heard((2,)), AUDIO_RATE_HZ).active_db > -25


@settings(max_examples=8)
@given(
    chunk=st.sampled_from([128, 512, 2000, 4096]),
    turns=st.lists(st.floats(0, 70_000), max_size=4),
)
def test_neither_chunks_nor_earlier_tuning_change_the_output(
    chunk: int, turns: list[float]
) -> None:
    """The dial returns to its frequency within 1.5 s."""
    way = tuple((number, dial_hz) for number, dial_hz in enumerate(turns))
    way = (*way, (max(len(turns), 2), 10_000.0))
    moved, still = heard(turns=way, chunk=chunk), heard()
    settled = slice(2 * AUDIO_RATE_HZ, min(len(moved), len(still)))
    assert np.max(np.abs(moved[settled] - still[settled])) < ONE_STEP * np.max(np.abs(still))


def test_the_gain_control_forgets_earlier_tuning() -> None:
    moved = heard(turns=((0, 6_500.0), (10, 10_000.0)), noise=Noise(), linear=False)
    still = heard(noise=Noise(), linear=False)
    settled = slice(4 * AUDIO_RATE_HZ, min(len(moved), len(still)))
    assert np.max(np.abs(moved[settled] - still[settled])) < ONE_STEP
    assert np.max(np.abs(moved[:8000] - still[:8000])) > 0.01


def test_a_station_on_the_dial_sounds_as_in_a_copy_drill() -> None:
    """The drill's channel has longer blocks and a lower rate; the sound is the same to -40 dB."""
    emission = transmit(voice_like(), Transmitter())
    channel = Channel(Conditions(snr_db=None), 0, linear=True)
    signal = tune(emission, 0.0)
    expected = np.concatenate([channel.process(signal), channel.finish()])
    receiver = BandReceiver(dial_hz=0.0, seed=0, noise=None, linear=True)
    on_dial = BandStation(0.0, Fading(), 0, np.zeros_like)
    on_dial.send(0, VOICE)
    receiver.stations = [on_dial]
    audio = receiver.receive(len(expected) // 512 * 512)
    error = audio - expected[: len(audio)]
    assert np.mean(error**2) < 10**-4 * np.mean(expected**2)


@pytest.mark.parametrize("dial_hz", [400.0, -250.0, 37.5])
def test_a_station_beside_the_dial_is_shifted(dial_hz: float) -> None:
    """A tone at 1000 Hz of audio on a carrier of 0 Hz; the baseband's 0 Hz is 1500 Hz of audio."""
    receiver = BandReceiver(dial_hz=dial_hz, seed=0, noise=None, linear=True)
    on_dial = BandStation(0.0, Fading(), 0, np.zeros_like)
    time = np.arange(4 * SPLATTER_RATE_HZ) / SPLATTER_RATE_HZ
    on_dial.send(0, np.exp(2j * np.pi * -500.0 * time).astype(np.complex64))
    receiver.stations = [on_dial]
    audio = receiver.receive(4 * AUDIO_RATE_HZ)[AUDIO_RATE_HZ:]
    assert strongest_hz(audio.astype(np.float64)) == pytest.approx(1000 - dial_hz, abs=0.5)


def test_the_noise_has_its_level_and_does_not_depend_on_the_dial() -> None:
    """0 dB is the noise in 3 kHz, so noise behind a filter of 2.5 kHz has -0.8 dB."""
    still = heard((), noise=Noise())
    turned = heard((), noise=Noise(), turns=((3, 50_000.0),))
    assert np.array_equal(still, turned)
    assert 10 * np.log10(np.mean(still**2)) == pytest.approx(10 * np.log10(2500 / 3000), abs=0.15)


@pytest.mark.parametrize("agc", ["off", "slow", "quick"])
def test_nothing_is_louder_than_the_limiter_allows(agc: str) -> None:
    audio = heard(noise=Noise(), turns=((20, 6_500.0),), agc=agc, linear=False)
    assert np.max(np.abs(audio)) < 10 ** (-0.99 / 20)
    assert agc == "off" or -30 < 10 * np.log10(np.mean(audio**2)) < -8


def test_a_length_that_does_not_fit_the_noise_is_refused() -> None:
    with pytest.raises(ValueError, match="not a multiple of 4"):
        BandReceiver(dial_hz=0.0, seed=0).receive(511)


def test_reception_that_starts_late_is_the_same_after_settling() -> None:
    """AGC "slow" holds its gain for longest; the filters need 48 ms."""
    start, length = 2 * AUDIO_RATE_HZ, 3 * AUDIO_RATE_HZ
    whole = heard(noise=Noise(vd_db=5.0), linear=False)
    receiver = BandReceiver(dial_hz=10_000.0, seed=5, noise=Noise(vd_db=5.0), start=start)
    receiver.stations = [station(number) for number in range(4)]
    late = np.concatenate([receiver.receive(512) for _ in range(length // 512)])
    settled = slice(2 * AUDIO_RATE_HZ, len(late))
    error = late[settled] - whole[start:][: len(late)][settled]
    assert np.max(np.abs(error)) < ONE_STEP


@pytest.mark.parametrize("snr_db", [None, 10.0, 30.0])
def test_the_meter_shows_the_level_over_the_noise(snr_db: float | None) -> None:
    """A carrier of a voice has its SNR in 3 kHz; the passband is narrower by less than 1 dB."""
    receiver = BandReceiver(dial_hz=0.0, seed=1)
    on_dial = BandStation(0.0, Fading(), 0, lambda at_s: np.full_like(at_s, snr_db or 0.0))
    if snr_db is not None:
        # Complex power of 2 becomes real power of 1.
        on_dial.send(0, np.full(AUDIO_RATE_HZ, np.sqrt(2), np.complex64))
    receiver.stations = [on_dial]
    readings = []
    for _ in range(20):
        receiver.receive(512)
        readings.append(receiver.level_db)
    assert readings[-1] == pytest.approx(snr_db or 1.0, abs=1.5)
    if snr_db is not None:
        for _ in range(2 * AUDIO_RATE_HZ // 512):
            receiver.receive(512)
        assert receiver.level_db < 3
