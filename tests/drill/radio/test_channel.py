"""The whole path: limits, ramps, loudness, repeatability, neighbours, interference."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.signal import welch

from drill.core.conditions import (
    STAGES,
    Buzz,
    Conditions,
    Neighbour,
    Noise,
    Pulses,
    Receiver,
    Transmitter,
    Whistle,
    without,
)
from drill.core.errors import UserError
from drill.core.models import Clip, WordTime
from drill.core.random_streams import stream
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ
from drill.radio.channel import (
    LEAD_IN_S,
    LEAD_OUT_S,
    MEAN_OUTPUT_DB,
    Channel,
    apply_edge_ramps,
    neighbour_emissions,
    simulate,
)
from drill.radio.presets import (
    fading_names,
    load_preset,
    parse_fading,
    parse_receiver,
    preset_names,
    receiver_names,
)
from drill.radio.receiver import LIMITER_CEILING_DB
from drill.radio.transmitter import transmit


def voice_like(seconds: float = 2.0, rate_hz: int = 24_000, seed: int = 0) -> Clip:
    """Return noise that swells four times a second: as uneven as speech, from a seed."""
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    noise = np.random.default_rng(seed).standard_normal(len(time))
    swell = np.sin(2 * np.pi * 2 * time) ** 2
    samples = (0.1 * noise * swell).astype(np.float32)
    return Clip(
        samples=samples,
        rate_hz=rate_hz,
        words=(WordTime(say="alfa", start_s=0.1, end_s=0.5),),
    )


def humming(pitch_hz: float, seconds: float = 4.0) -> Clip:
    """Return a voice of one tone."""
    time = np.arange(round(seconds * AUDIO_RATE_HZ)) / AUDIO_RATE_HZ
    samples = (0.1 * np.sin(2 * np.pi * pitch_hz * time)).astype(np.float32)
    return Clip(samples=samples, rate_hz=AUDIO_RATE_HZ)


def silence(seconds: float) -> NDArray[np.complex64]:
    return np.zeros(round(seconds * BASEBAND_RATE_HZ), np.complex64)


def received(conditions: Conditions, seconds: float = 4.0, *voices: Clip) -> NDArray[np.float64]:
    """Return what the receiver's filter gives when the wanted station is silent."""
    path = Channel(conditions, 1, neighbour_emissions(conditions, voices), linear=True)
    sound = np.concatenate([path.process(silence(seconds)), path.finish()])
    return sound.astype(np.float64)


def strongest_hz(sound: NDArray[np.float64]) -> float:
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound))))
    return float(np.argmax(spectrum)) * AUDIO_RATE_HZ / len(sound)


conditions = st.builds(
    Conditions,
    snr_db=st.none() | st.floats(-30, 60),
    fading=st.sampled_from(fading_names()).map(parse_fading),
    noise=st.builds(
        Noise,
        vd_db=st.none() | st.floats(1.1, 12),
        whistle=st.none() | st.builds(Whistle, snr_db=st.floats(-20, 60)),
        pulses=st.none() | st.builds(Pulses, rate_hz=st.floats(1, 100)),
        buzz=st.none() | st.just(Buzz()),
    ),
    transmitter=st.builds(
        Transmitter,
        processing=st.sampled_from(["none", "compressed", "clipped"]),
        off_frequency_hz=st.floats(-500, 500),
        overdrive_db=st.sampled_from([0.0, 6.0]),
    ),
    receiver=st.sampled_from(receiver_names()).map(parse_receiver)
    | st.builds(Receiver, agc=st.sampled_from(["off", "quick", "medium", "slow"])),
    neighbours=st.lists(
        st.builds(Neighbour, offset_hz=st.floats(-6000, 6000), snr_db=st.floats(-40, 80)),
        max_size=2,
    ).map(tuple),
)


@settings(deadline=None, max_examples=60)
@given(seed=st.integers(0, 2**48), conditions=conditions)
def test_what_is_heard_is_limited_and_ramped(seed: int, conditions: Conditions) -> None:
    others = [voice_like(1.0, seed=n) for n in range(len(conditions.neighbours))]
    clip = simulate(voice_like(1.0), conditions, seed, others).clip
    assert np.all(np.isfinite(clip.samples))
    assert np.max(np.abs(clip.samples)) <= 10 ** (LIMITER_CEILING_DB / 20) + 1e-6
    assert clip.samples[0] == 0
    assert clip.samples[-1] == 0
    assert clip.seconds == pytest.approx(1 + LEAD_IN_S + LEAD_OUT_S, abs=0.001)


@pytest.mark.parametrize("name", ["off", "quick", "medium", "slow"])
@pytest.mark.parametrize("snr_db", [-15.0, 0.0, 15.0, 50.0])
def test_loudness_does_not_depend_on_the_snr(snr_db: float, name: str) -> None:
    """Level of speech and noise together while the station speaks."""
    wanted = Conditions(snr_db=snr_db, receiver=Receiver(agc=name))
    clip = simulate(voice_like(8.0), wanted, 3).clip
    talking = clip.samples[round(LEAD_IN_S * clip.rate_hz) : -round(LEAD_OUT_S * clip.rate_hz)]
    level = 10 * np.log10(np.mean(talking.astype(float) ** 2))
    assert level == pytest.approx(MEAN_OUTPUT_DB, abs=3.0)


def test_agc_fills_the_pauses_with_noise() -> None:
    """After a strong voice the noise comes up; with a gain that stays it does not."""
    wanted = Conditions(snr_db=20.0)
    ends = {}
    for name in ("off", "quick"):
        clip = simulate(voice_like(), replace(wanted, receiver=Receiver(agc=name)), 3).clip
        tail = clip.samples[-round(0.2 * clip.rate_hz) : -400].astype(float)
        ends[name] = 10 * np.log10(np.mean(tail**2))
    assert ends["quick"] > ends["off"] + 10


def test_the_ramp_rises_smoothly_over_20_ms() -> None:
    sound = np.ones(AUDIO_RATE_HZ, np.float32)
    apply_edge_ramps(sound)
    rise = sound[: round(0.02 * AUDIO_RATE_HZ)]
    assert rise[0] == 0
    assert np.all(np.diff(rise) > 0)
    assert np.max(np.diff(rise)) < 0.01
    assert sound[round(0.02 * AUDIO_RATE_HZ)] == 1
    assert np.array_equal(sound, sound[::-1])


def test_the_same_seed_gives_the_same_sound() -> None:
    for name in preset_names():
        wanted = load_preset(name).conditions
        others = [voice_like(seed=7)] * len(wanted.neighbours)
        one, two = (simulate(voice_like(), wanted, 9, others).clip for _ in range(2))
        assert np.array_equal(one.samples, two.samples), name
        assert not np.array_equal(
            one.samples, simulate(voice_like(), wanted, 10, others).clip.samples
        )


@pytest.mark.parametrize("piece", [1, 7, 160, 4096])
def test_a_stream_in_odd_pieces_is_the_whole(piece: int) -> None:
    """Every stage that has a memory at once; within 1 LSB of 16 bits."""
    wanted = replace(
        load_preset("busy-weekend").conditions,
        noise=Noise(vd_db=5.0, whistle=Whistle(), buzz=Buzz(), pulses=Pulses()),
    )
    others = neighbour_emissions(wanted, [voice_like(seed=n) for n in range(3)])
    signal = transmit(voice_like(1.0), wanted.transmitter).samples

    def run(size: int) -> NDArray[np.float32]:
        path = Channel(wanted, 5, others)
        parts = [path.process(signal[at : at + size]) for at in range(0, len(signal), size)]
        return np.concatenate([*parts, path.finish()])

    reference, pieces = run(len(signal)), run(piece)
    assert len(pieces) == len(reference) == 4 * len(signal)
    assert np.max(np.abs(pieces - reference)) <= 1 / 32768


def test_another_snr_leaves_fading_and_neighbours_as_they_were() -> None:
    wanted = Conditions(fading=parse_fading("mid-disturbed"), neighbours=(Neighbour(offset_hz=500),))
    others = neighbour_emissions(wanted, [voice_like(seed=3)])
    signal = transmit(voice_like(), wanted.transmitter).samples

    def clean(snr_db: float) -> NDArray[np.float32]:
        """Return what comes of the stations alone: the noise is the same but for its scale."""
        sounds = []
        for part in (signal, np.zeros_like(signal)):
            path = Channel(replace(wanted, snr_db=snr_db, neighbours=()), 5, (), linear=True)
            sounds.append(np.concatenate([path.process(part), path.finish()]))
        return np.asarray(sounds[0] - sounds[1])

    assert len(others) == 1
    assert np.allclose(clean(-10.0), clean(20.0), atol=1e-4)


def test_words_move_with_the_lead_in() -> None:
    heard = simulate(voice_like(), Conditions(), 1)
    assert heard.clip.words[0].start_s == pytest.approx(0.1 + LEAD_IN_S)


def test_streams_are_apart() -> None:
    draws = {use: stream(5, use).random(1000) for use in ("fading", "noise", "other")}
    assert np.array_equal(draws["noise"], stream(5, "noise").random(1000))
    assert abs(np.corrcoef(draws["fading"], draws["noise"])[0, 1]) < 0.15
    assert not np.array_equal(draws["noise"], stream(6, "noise").random(1000))


@pytest.mark.parametrize(
    ("neighbour", "heard_hz"),
    [
        (Neighbour(offset_hz=500.0), 1500.0),
        (Neighbour(offset_hz=-312.5), 687.5),
        (Neighbour(offset_hz=3000.0, inverted=True), 2000.0),
        (Neighbour(offset_hz=2500.0, inverted=True), 1500.0),
    ],
)
def test_a_neighbour_is_heard_at_its_place(neighbour: Neighbour, heard_hz: float) -> None:
    """Its 1000 Hz comes out shifted by its offset; on the other sideband, offset minus 1000."""
    wanted = Conditions(snr_db=None, neighbours=(replace(neighbour, fading=parse_fading("steady")),))
    sound = received(wanted, 3.0, humming(1000.0, 30.0))
    assert strongest_hz(sound) == pytest.approx(heard_hz, abs=0.5)


def test_a_neighbour_has_its_own_level() -> None:
    """snr_db of a neighbour is its active level against the noise in 3 kHz, as for the wanted."""
    wanted = Conditions(snr_db=6.0, neighbours=(Neighbour(offset_hz=500.0, snr_db=20.0),))
    alone = replace(wanted, neighbours=())
    hum = humming(1000.0, 30.0)
    both = received(wanted, 20.0, hum)
    noise = received(alone, 20.0)
    # It pauses at times: the median second is one in which it talks.
    station = np.median(np.mean((both - noise).reshape(20, -1) ** 2, axis=1))
    _, power = welch(noise, AUDIO_RATE_HZ, nperseg=1024)
    density = float(np.mean(power[40:160]))
    assert 10 * np.log10(station / (3000 * density)) == pytest.approx(20, abs=0.15)


def test_a_far_neighbour_is_not_heard_unless_it_splatters() -> None:
    far = Neighbour(offset_hz=3400.0, snr_db=40.0, fading=parse_fading("steady"))
    levels = []
    for drive_db in (0.0, 12.0):
        wanted = Conditions(snr_db=0.0, neighbours=(replace(far, overdrive_db=drive_db),))
        noise = received(replace(wanted, neighbours=()), 8.0)
        both = received(wanted, 8.0, voice_like(8.0, seed=4))
        levels.append(10 * np.log10(np.mean((both - noise) ** 2) / np.mean(noise**2)))
    assert levels[0] < -20
    assert levels[1] > 0


def test_neighbours_fade_on_their_own() -> None:
    """Two neighbours that say the same at once: each has another path."""
    pair = tuple(Neighbour(offset_hz=0.0, snr_db=0.0) for _ in range(2))
    wanted = Conditions(snr_db=None, fading=parse_fading("mid-disturbed"), neighbours=pair)
    path = Channel(wanted, 3, neighbour_emissions(wanted, [humming(1000.0, 60.0)] * 2), linear=True)
    (_, first), (_, second) = path._neighbours
    carrier = np.ones(40 * BASEBAND_RATE_HZ, np.complex64)
    one, two = (np.abs(p.process(carrier)) for p in (first, second))
    assert abs(np.corrcoef(one, two)[0, 1]) < 0.5


def test_the_number_of_voices_has_to_fit() -> None:
    with pytest.raises(ValueError, match="zip"):
        simulate(voice_like(), Conditions(neighbours=(Neighbour(),)), 1)


def test_a_whistle_is_heard_at_its_pitch_and_level() -> None:
    noisy = Conditions(snr_db=0.0, noise=Noise(whistle=Whistle(pitch_hz=1234.0, snr_db=10.0)))
    sound, noise = received(noisy, 20.0), received(replace(noisy, noise=Noise()), 20.0)
    assert strongest_hz(sound) == pytest.approx(1234, abs=0.1)
    power = np.mean((sound - noise) ** 2)
    assert 10 * np.log10(power) == pytest.approx(10.0, abs=0.05)  # N0 x 3 kHz is 1 at 0 dB


@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
def test_a_buzz_is_harmonics_of_twice_the_mains(mains_hz: float) -> None:
    noisy = Conditions(
        snr_db=0.0,
        receiver=parse_receiver("wide"),
        noise=Noise(buzz=Buzz(mains_hz=mains_hz, snr_db=10.0)),
    )
    sound = received(noisy, 30.0) - received(replace(noisy, noise=Noise()), 30.0)
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)))) ** 2
    frequency = np.fft.rfftfreq(len(sound), 1 / AUDIO_RATE_HZ)
    off = np.abs(frequency / (2 * mains_hz) - np.round(frequency / (2 * mains_hz)))
    near = off * 2 * mains_hz < 10
    assert np.sum(spectrum[near]) > 0.95 * np.sum(spectrum)
    # Its stated level holds over all harmonics up to 3400 Hz; the filter takes a few away.
    assert 10 * np.log10(np.mean(sound**2)) == pytest.approx(10.0, abs=1.0)


def test_pulses_come_at_their_rate() -> None:
    noisy = Conditions(snr_db=0.0, noise=Noise(pulses=Pulses(rate_hz=10.0, snr_db=10.0)))
    sound = received(noisy, 20.0) - received(replace(noisy, noise=Noise()), 20.0)
    envelope = np.abs(sound) > 0.3 * np.max(np.abs(sound))
    starts = np.flatnonzero(envelope[1:] & ~envelope[:-1])
    gaps = np.diff(starts)[np.diff(starts) > 0.05 * AUDIO_RATE_HZ] + 0.0
    assert len(gaps) == pytest.approx(199, abs=2)
    assert 10 * np.log10(np.mean(sound**2)) == pytest.approx(10.0, abs=0.7)


@pytest.mark.parametrize("stage", STAGES)
def test_every_stage_can_be_left_out_and_is_missed(stage: str) -> None:
    wanted = replace(
        load_preset("busy-weekend").conditions, noise=Noise(whistle=Whistle(snr_db=6.0)), snr_db=3.0
    )
    bare = without(wanted, stage)
    assert bare != wanted
    assert without(bare, stage) == bare
    others = [voice_like(seed=n) for n in range(3)]
    full = simulate(voice_like(), wanted, 4, others).clip.samples
    less = simulate(voice_like(), bare, 4, others[: len(bare.neighbours)]).clip.samples
    assert not np.array_equal(full, less)


def test_an_unknown_stage_names_the_known_ones() -> None:
    with pytest.raises(UserError, match=r"'fog'.*processing"):
        without(Conditions(), "fog")


def test_delivered_snr_counts_the_processing() -> None:
    heard = simulate(voice_like(), Conditions(snr_db=2.0), 1)
    assert heard.snr_db == 2.0
    louder = Conditions(snr_db=2.0, transmitter=Transmitter(processing="clipped"))
    heard = simulate(voice_like(), louder, 1)
    assert heard.snr_db == pytest.approx(2.0 + heard.emission.level_db)
    assert simulate(voice_like(), Conditions(snr_db=None), 1).snr_db is None
