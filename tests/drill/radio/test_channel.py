"""The whole channel: limits, ramps, loudness, repeatability, and the effect of each stage."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

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
    without_stage,
)
from drill.core.random_streams import random_stream
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
from drill.radio.neighbours import tune
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
from tests.drill.radio.sounds import hum, voice_like

CONDITIONS = st.builds(
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


@settings(max_examples=60)
@given(seed=st.integers(0, 2**48), conditions=CONDITIONS)
def test_any_conditions_give_limited_audio_with_ramps(seed: int, conditions: Conditions) -> None:
    neighbours = [voice_like(1.0, seed=n) for n in range(len(conditions.neighbours))]
    clip = simulate(voice_like(1.0), conditions, seed, neighbours).clip
    assert np.all(np.isfinite(clip.samples))
    assert np.max(np.abs(clip.samples)) <= 10 ** (LIMITER_CEILING_DB / 20) + 1e-6
    assert clip.samples[0] == 0
    assert clip.samples[-1] == 0
    assert clip.seconds == pytest.approx(1 + LEAD_IN_S + LEAD_OUT_S, abs=0.001)


@pytest.mark.parametrize("agc", ["off", "quick", "medium", "slow"])
@pytest.mark.parametrize("snr_db", [-15.0, 0.0, 15.0, 50.0])
def test_loudness_does_not_depend_on_the_snr(snr_db: float, agc: str) -> None:
    """Compare the level of speech and noise together while the station transmits."""
    conditions = Conditions(snr_db=snr_db, receiver=Receiver(agc=agc))
    clip = simulate(voice_like(8.0), conditions, 3).clip
    voice = clip.samples[round(LEAD_IN_S * clip.rate_hz) : -round(LEAD_OUT_S * clip.rate_hz)]
    level_db = 10 * np.log10(np.mean(voice.astype(float) ** 2))
    assert level_db == pytest.approx(MEAN_OUTPUT_DB, abs=3.0)


def test_agc_raises_the_noise_in_pauses() -> None:
    """After a strong voice the noise comes up; with constant gain it does not."""
    conditions = Conditions(snr_db=20.0)
    tail_db = {}
    for agc in ("off", "quick"):
        clip = simulate(voice_like(), replace(conditions, receiver=Receiver(agc=agc)), 3).clip
        tail = clip.samples[-round(0.2 * clip.rate_hz) : -400].astype(float)
        tail_db[agc] = 10 * np.log10(np.mean(tail**2))
    assert tail_db["quick"] > tail_db["off"] + 10


def test_the_ramps_rise_smoothly_within_20_ms() -> None:
    audio = np.ones(AUDIO_RATE_HZ, np.float32)
    apply_edge_ramps(audio)
    rise = audio[: round(0.02 * AUDIO_RATE_HZ)]
    assert rise[0] == 0
    assert np.all(np.diff(rise) > 0)
    assert np.max(np.diff(rise)) < 0.01
    assert audio[round(0.02 * AUDIO_RATE_HZ)] == 1
    assert np.array_equal(audio, audio[::-1])


@pytest.mark.parametrize("name", preset_names())
def test_equal_seeds_give_equal_audio_and_other_seeds_do_not(name: str) -> None:
    conditions = load_preset(name).conditions
    neighbours = [voice_like(seed=7)] * len(conditions.neighbours)
    first, second, other = (
        simulate(voice_like(), conditions, seed, neighbours).clip.samples for seed in (9, 9, 10)
    )
    assert np.array_equal(first, second)
    assert not np.array_equal(first, other)


@pytest.mark.parametrize("chunk", [1, 7, 160, 4096])
def test_chunks_of_any_size_give_the_same_audio(chunk: int) -> None:
    """Every stage with memory takes part; the tolerance is 1 LSB at 16 bits."""
    conditions = replace(
        load_preset("busy-weekend").conditions,
        noise=Noise(vd_db=5.0, whistle=Whistle(), buzz=Buzz(), pulses=Pulses()),
    )
    emissions = neighbour_emissions(conditions, [voice_like(seed=n) for n in range(3)])
    signal = tune(transmit(voice_like(1.0), conditions.transmitter), 0.0)

    def run(size: int) -> NDArray[np.float32]:
        channel = Channel(conditions, 5, emissions)
        starts = range(0, len(signal), size)
        parts = [channel.process(signal[start : start + size]) for start in starts]
        return np.concatenate([*parts, channel.finish()])

    reference, chunked = run(len(signal)), run(chunk)
    assert len(chunked) == len(reference) == 4 * len(signal)
    assert np.max(np.abs(chunked - reference)) <= 1 / 32768


def test_the_snr_does_not_change_the_fading() -> None:
    """The noise differs only in scale, so subtracting it leaves the faded station alone."""
    conditions = Conditions(fading=parse_fading("mid-disturbed"))
    signal = tune(transmit(voice_like(), conditions.transmitter), 0.0)

    def station_alone(snr_db: float) -> NDArray[np.float32]:
        outputs = []
        for part in (signal, np.zeros_like(signal)):
            channel = Channel(replace(conditions, snr_db=snr_db), 5, linear=True)
            outputs.append(np.concatenate([channel.process(part), channel.finish()]))
        return np.asarray(outputs[0] - outputs[1])

    assert np.allclose(station_alone(-10.0), station_alone(20.0), atol=1e-4)


def test_the_snr_does_not_change_what_a_neighbour_transmits() -> None:
    """A neighbour's level follows the noise, so both shrink by 30 dB from -10 to 20 dB of SNR."""
    conditions = Conditions(
        fading=parse_fading("mid-disturbed"), neighbours=(Neighbour(offset_hz=500),)
    )
    emissions = neighbour_emissions(conditions, [voice_like(seed=3)])
    silence = np.zeros(4 * BASEBAND_RATE_HZ, np.complex64)
    low, high = (
        Channel(replace(conditions, snr_db=snr_db), 5, emissions, linear=True).process(silence)
        for snr_db in (-10.0, 20.0)
    )
    scale = np.float32(10 ** (30 / 20))
    assert np.allclose(low, high * scale, atol=1e-4 * float(np.max(np.abs(low))))


def test_word_times_include_the_lead_in() -> None:
    received = simulate(voice_like(), Conditions(), 1)
    assert received.clip.words[0].start_s == pytest.approx(0.1 + LEAD_IN_S)
    assert received.clip.words[0].end_s == pytest.approx(0.5 + LEAD_IN_S)


def test_random_streams_are_independent() -> None:
    draws = {use: random_stream(5, use).random(1000) for use in ("fading", "noise", "other")}
    assert np.array_equal(draws["noise"], random_stream(5, "noise").random(1000))
    assert abs(np.corrcoef(draws["fading"], draws["noise"])[0, 1]) < 0.15
    assert not np.array_equal(draws["noise"], random_stream(6, "noise").random(1000))


def test_neighbours_fade_independently() -> None:
    """Two neighbours transmit the same carrier over different paths."""
    pair = tuple(Neighbour(offset_hz=0.0, snr_db=0.0) for _ in range(2))
    conditions = Conditions(snr_db=None, fading=parse_fading("mid-disturbed"), neighbours=pair)
    emissions = neighbour_emissions(conditions, [hum(1000.0, 60.0)] * 2)
    channel = Channel(conditions, 3, emissions, linear=True)
    carrier = np.ones(40 * BASEBAND_RATE_HZ, np.complex64)
    first, second = (np.abs(fading.process(carrier)) for _, fading in channel._neighbours)
    assert abs(np.corrcoef(first, second)[0, 1]) < 0.5


def test_the_number_of_voices_must_be_that_of_the_neighbours() -> None:
    with pytest.raises(ValueError, match="zip"):
        simulate(voice_like(), Conditions(neighbours=(Neighbour(),)), 1)


@pytest.mark.parametrize("stage", STAGES)
def test_leaving_out_a_stage_changes_the_audio(stage: str) -> None:
    conditions = replace(
        load_preset("busy-weekend").conditions,
        noise=Noise(whistle=Whistle(snr_db=6.0)),
        snr_db=3.0,
    )
    reduced = without_stage(conditions, stage)
    assert reduced != conditions
    assert without_stage(reduced, stage) == reduced
    voices = [voice_like(seed=n) for n in range(3)]
    full = simulate(voice_like(), conditions, 4, voices).clip.samples
    less = simulate(voice_like(), reduced, 4, voices[: len(reduced.neighbours)]).clip.samples
    assert not np.array_equal(full, less)


def test_the_delivered_snr_includes_the_gain_of_the_processing() -> None:
    received = simulate(voice_like(), Conditions(snr_db=2.0), 1)
    assert received.snr_db == 2.0
    clipped = Conditions(snr_db=2.0, transmitter=Transmitter(processing="clipped"))
    received = simulate(voice_like(), clipped, 1)
    assert received.snr_db == pytest.approx(2.0 + received.emission.level_db)
    assert simulate(voice_like(), Conditions(snr_db=None), 1).snr_db is None
