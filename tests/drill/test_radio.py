"""The radio path stage by stage: filter, levels, ramps, independence of its random streams."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.errors import UserError
from drill.items import Clip, Conditions, WordTime
from drill.radio import RADIO_RATE_HZ
from drill.radio.passband import Passband, limit, noise_bandwidth_hz, taps
from drill.radio.path import LEAD_S, LOUDNESS_DB, PEAK_DB, ramps, travel
from drill.radio.presets import fading, fading_names, fading_sentence
from drill.radio.streams import stream
from drill.radio.transmitter import transmit

BAND = Passband(low_hz=300.0, high_hz=2700.0)


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


def gain_db(frequency_hz: float) -> float:
    tone = np.exp(2j * np.pi * frequency_hz * np.arange(RADIO_RATE_HZ) / RADIO_RATE_HZ)
    middle = slice(RADIO_RATE_HZ // 4, -RADIO_RATE_HZ // 4)
    return float(20 * np.log10(np.abs(limit(tone, BAND, RADIO_RATE_HZ)[middle]).max() + 1e-12))


@pytest.mark.parametrize("frequency_hz", [400, 1000, 1500, 2000, 2600])
def test_the_passband_is_flat(frequency_hz: float) -> None:
    assert gain_db(frequency_hz) == pytest.approx(0, abs=0.05)


@pytest.mark.parametrize("frequency_hz", [300, 2700])
def test_the_edges_are_at_half_amplitude(frequency_hz: float) -> None:
    assert gain_db(frequency_hz) == pytest.approx(-6.02, abs=0.1)


@pytest.mark.parametrize("frequency_hz", [0, 150, 200, 2800, 3000, 5000, -400, -1500, -2600])
def test_outside_and_the_other_sideband_are_gone(frequency_hz: float) -> None:
    assert gain_db(frequency_hz) < -60


def test_noise_bandwidth_is_the_stated_width() -> None:
    assert noise_bandwidth_hz(BAND, RADIO_RATE_HZ) == pytest.approx(2400, rel=0.0115)  # 0.05 dB


@pytest.mark.parametrize(("low", "high"), [(0, 2700), (2700, 300), (300, 9000), (-5, 100)])
def test_an_impossible_passband_is_refused(low: float, high: float) -> None:
    with pytest.raises(ValueError, match="passband"):
        taps(Passband(low_hz=low, high_hz=high), RADIO_RATE_HZ)


@pytest.mark.parametrize("rate_hz", [8_000, 16_000, 22_050, 24_000, 48_000])
def test_a_tone_keeps_its_frequency_at_any_rate(rate_hz: int) -> None:
    time = np.arange(2 * rate_hz) / rate_hz
    clip = Clip(samples=np.sin(2 * np.pi * 1000 * time).astype(np.float32), rate_hz=rate_hz)
    sent = transmit(clip, BAND)
    spectrum = np.abs(np.fft.fft(sent * np.hanning(len(sent))))
    assert np.argmax(spectrum) / len(sent) * RADIO_RATE_HZ == pytest.approx(1000, abs=1)
    assert len(sent) == pytest.approx(2 * RADIO_RATE_HZ, abs=1)


def test_a_silent_voice_is_refused() -> None:
    with pytest.raises(ValueError, match="no speech"):
        travel(Clip(samples=np.zeros(9000, np.float32), rate_hz=24_000), Conditions(), 1)


@settings(deadline=None, max_examples=40)
@given(
    seed=st.integers(0, 2**48),
    snr_db=st.none() | st.floats(-30, 60),
    name=st.sampled_from(fading_names()),
)
def test_what_is_heard_is_limited_and_ramped(seed: int, snr_db: float | None, name: str) -> None:
    conditions = Conditions(snr_db=snr_db, fading=fading(name))
    clip = travel(voice_like(1.0), conditions, seed).clip()
    assert np.all(np.isfinite(clip.samples))
    assert np.max(np.abs(clip.samples)) <= 10 ** (PEAK_DB / 20) + 1e-6
    assert clip.samples[0] == 0
    assert clip.samples[-1] == 0


def test_loudness_is_fixed_whatever_the_snr() -> None:
    """Level of speech and noise together while the station speaks, within a decibel."""
    for snr_db in (-15.0, 0.0, 15.0, 50.0):
        clip = travel(voice_like(8.0), Conditions(snr_db=snr_db), 3).clip()
        talking = clip.samples[round(LEAD_S * clip.rate_hz) : -round(0.5 * clip.rate_hz)]
        level = 10 * np.log10(np.mean(talking.astype(float) ** 2))
        assert level == pytest.approx(LOUDNESS_DB, abs=1.0)


def test_a_loud_level_is_softened_as_a_whole() -> None:
    """A click in a voice far above its level: the peak holds and nothing is clipped flat."""
    clip = voice_like(2.0)
    samples = clip.samples.copy()
    samples[20_000] = 200.0
    loud = travel(Clip(samples=samples, rate_hz=24_000), Conditions(snr_db=20.0), 1).clip()
    at_peak = np.abs(loud.samples) > 10 ** (PEAK_DB / 20) - 1e-4
    assert 1 <= np.count_nonzero(at_peak) <= 2


def test_the_ramp_rises_smoothly_over_20_ms() -> None:
    envelope = ramps(RADIO_RATE_HZ)
    rise = envelope[: round(0.02 * RADIO_RATE_HZ)]
    assert rise[0] == 0
    assert np.all(np.diff(rise) > 0)
    assert np.max(np.diff(rise)) < 0.01
    assert envelope[round(0.02 * RADIO_RATE_HZ)] == 1
    assert np.array_equal(envelope, envelope[::-1])


def test_the_same_seed_gives_the_same_sound() -> None:
    conditions = Conditions(snr_db=0.0, fading=fading("mid-moderate"))
    one, two = (travel(voice_like(), conditions, 9).clip() for _ in range(2))
    assert np.array_equal(one.samples, two.samples)
    other = travel(voice_like(), conditions, 10).clip()
    assert not np.array_equal(one.samples, other.samples)


def test_another_snr_leaves_the_fading_as_it_was() -> None:
    path = fading("mid-disturbed")
    weak, strong = (
        travel(voice_like(), Conditions(snr_db=snr, fading=path), 9).speech for snr in (-10.0, 10.0)
    )
    scale = np.linalg.norm(weak) / np.linalg.norm(strong)
    assert np.allclose(weak, strong * scale, atol=1e-9)


def test_words_move_with_the_lead_in() -> None:
    heard = travel(voice_like(), Conditions(), 1)
    assert heard.words[0].start_s == pytest.approx(0.1 + LEAD_S)


def test_streams_are_apart() -> None:
    draws = {use: stream(5, use).random(1000) for use in ("fading", "noise", "other")}
    assert np.array_equal(draws["noise"], stream(5, "noise").random(1000))
    assert abs(np.corrcoef(draws["fading"], draws["noise"])[0, 1]) < 0.15
    assert not np.array_equal(draws["noise"], stream(6, "noise").random(1000))


def test_every_preset_says_what_one_hears() -> None:
    for name in fading_names():
        assert fading_sentence(name).endswith(".")


def test_an_unknown_preset_names_the_known_ones() -> None:
    with pytest.raises(UserError, match=r"'fog'.*mid-quiet"):
        fading("fog")
