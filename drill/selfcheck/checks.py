"""Measures the radio path on this machine and holds each figure against its published limit.

Every check makes signals, sends them through the same code that a drill uses, and measures what
comes out by means of its own (scipy's transforms and estimates, closed forms). A row fails where
the figure leaves its limits. The figures of the standards stand here as they were published.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Conditions, Fading, Noise, Receiver, Transmitter
from drill.core.models import Clip
from drill.core.random_streams import stream
from drill.linkbudget.budget import watts_to_snr
from drill.linkbudget.noise_levels import Noise as ExternalNoise
from drill.linkbudget.noise_levels import combine, man_made
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ, CENTRE_HZ
from drill.radio.channel import CHUNK_SAMPLES, Channel, Sound
from drill.radio.fading import WattersonFading
from drill.radio.fading_taps import FadingTap
from drill.radio.filters import ComplexArray, noise_bandwidth_hz
from drill.radio.gain_control import GainControl
from drill.radio.levels import speech_level
from drill.radio.neighbours import tune
from drill.radio.presets import parse_fading, parse_receiver, receiver_names
from drill.radio.receiver import AGC_TARGET_DB, AGC_TIMING, receiver_agc, receiver_passband
from drill.radio.transmitter import Emission, transmit

SEED = 20
LSB = 1 / 32768


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """One figure: what it is of, its limits (both ends allowed), and where they come from."""

    what: str
    figure: float
    low: float
    high: float
    unit: str
    source: str

    @property
    def passed(self) -> bool:
        """Return True where the figure is a number within its limits."""
        return bool(self.low <= self.figure <= self.high)


def db(power: float) -> float:
    """Return 10 lg(power)."""
    return float(10 * np.log10(power))


@lru_cache(maxsize=1)
def voice() -> Clip:
    """Return a voice that says the whole alphabet. Raises: NoVoice."""
    from drill import voices
    from drill.core.errors import NoVoice
    from phonetics.alphabets import ITU
    from phonetics.message import Word

    words = tuple(Word(say=word.lower(), pause=",") for word in ITU.values())
    # Where the quick engine is missing, any other will do.
    found = sorted(voices.usable_operators(), key=lambda operator: operator.engine != "formant")
    if not found:
        raise NoVoice("there is no voice to check with; see `faintcall choices`")
    return voices.speak(words, found[0], 1)


def tone(frequency_hz: float, seconds: float) -> ComplexArray:
    """Return an unmodulated carrier, sound of power 1, that is heard at this pitch."""
    time = np.arange(round(seconds * BASEBAND_RATE_HZ)) / BASEBAND_RATE_HZ
    turns = (frequency_hz - CENTRE_HZ) * time
    return np.asarray(np.sqrt(2) * np.exp(2j * np.pi * turns), np.complex64)


def through(conditions: Conditions, signal: ComplexArray, *, piece: int = CHUNK_SAMPLES) -> Sound:
    """Return what the receiver's filter gives for a signal, before AGC and limiter."""
    path = Channel(conditions, SEED, linear=True)
    parts = [path.process(signal[at : at + piece]) for at in range(0, len(signal), piece)]
    return np.concatenate([*parts, path.finish()])


def silence(seconds: float) -> ComplexArray:
    """Return a station that says nothing."""
    return np.zeros(round(seconds * BASEBAND_RATE_HZ), np.complex64)


# --- level and SNR ------------------------------------------------------------------------------

Gate = Callable[[NDArray[np.float64]], NDArray[np.bool_]]
ACTLEV: dict[str, tuple[Gate, float]] = {
    # name: (gate over time, active level in dB), as printed by actlev for 0.25 sin(2 pi 1000 t)
    "sine": (lambda t: t >= 0, -15.039),
    "half a second in each second": (lambda t: t % 1 < 0.5, -16.999),
    "half a second in two": (lambda t: t % 2 < 0.5, -16.999),
    "short gaps": (lambda t: t % 0.3 < 0.15, -17.998),
}


def check_level() -> Iterator[Row]:
    """Active speech level against the ITU's own program."""
    worst = 0.0
    for rate_hz in (8_000, 16_000, 22_050, 44_100, 48_000):
        time = np.arange(8 * rate_hz) / rate_hz
        for gate, wanted_db in ACTLEV.values():
            sound = 0.25 * np.sin(2 * np.pi * 1000 * time) * gate(time)
            worst = max(worst, abs(speech_level(sound, rate_hz).active_db - wanted_db))
    source = "ITU-T P.56 method B; figures of ITU-T G.191 actlev"
    yield Row(
        what="active speech level, worst of 4 signals at 8 to 48 kHz",
        figure=worst,
        low=0,
        high=0.1,
        unit="dB off",
        source=source,
    )


def noise_density(conditions: Conditions, seconds: float) -> float:
    """Return N0 as measured after the receiver's filter."""
    path = Channel(conditions, SEED, linear=True)
    quiet = silence(60)  # minute by minute: hours at once would not fit into the memory
    powers = [
        float(np.mean(path.process(quiet).astype(np.float64) ** 2))
        for _ in range(round(seconds / 60))
    ]
    return float(np.mean(powers)) / noise_bandwidth_hz(receiver_passband(conditions.receiver))


def check_snr() -> Iterator[Row]:
    """The SNR that arrives, with every receiver, kind of noise and processing."""
    emission = transmit(voice(), Transmitter())
    wide = Conditions(snr_db=None, receiver=parse_receiver("wide"))
    heard_db = speech_level(through(wide, emission.samples), AUDIO_RATE_HZ).active_db
    source = "SNR of ITU-R F.339-8 in 3 kHz; level by ITU-T P.56"
    for name in receiver_names():
        conditions = Conditions(snr_db=-3.0, receiver=parse_receiver(name))
        density = noise_density(conditions, 300)
        yield Row(
            what=f"SNR of -3 dB, receiver {name}",
            figure=heard_db - db(density * 3000),
            low=-3.1,
            high=-2.9,
            unit="dB",
            source=source,
        )
    yield Row(
        what="the same in dB-Hz (-3 dB + 10 lg 3000)",
        figure=heard_db - db(density),
        low=31.67,
        high=31.87,
        unit="dB-Hz",
        source="10 lg 3000 = 34.771",
    )
    for vd_db, seconds in ((3.0, 3600), (6.0, 7200)):
        conditions = Conditions(snr_db=-3.0, noise=Noise(vd_db=vd_db))
        yield Row(
            what=f"SNR of -3 dB, static of Vd {vd_db:g} dB, {seconds / 3600:g} h",
            figure=heard_db - db(noise_density(conditions, seconds) * 3000),
            low=-3.1,
            high=-2.9,
            unit="dB",
            source=source,
        )


# --- transmitter --------------------------------------------------------------------------------


def fine_peak(emission: Emission) -> float:
    """Return the peak envelope power, every harmonic of the over taken 16 times as finely."""
    from scipy.fft import next_fast_len
    from scipy.signal import resample

    size = next_fast_len(len(emission.samples))
    padded = np.pad(emission.samples.astype(np.complex128), (0, size - len(emission.samples)))
    return float(np.max(np.abs(np.asarray(resample(padded, 16 * size))) ** 2)) / 2


def check_transmitter() -> Iterator[Row]:
    """Constant PEP, what processing gains, and mistuning."""
    plain = transmit(voice(), Transmitter())
    pep_db = db(fine_peak(plain))
    for kind, low in (("compressed", 1.0), ("clipped", 3.0)):
        emission = transmit(voice(), Transmitter(processing=kind))
        yield Row(
            what=f"PEP, {kind} against none",
            figure=db(fine_peak(emission)) - pep_db,
            low=-0.1,
            high=0.1,
            unit="dB",
            source="PEP: ITU Radio Regulations No. 1.157",
        )
        yield Row(
            what=f"mean power gained, {kind} against none",
            figure=emission.level_db,
            low=low,
            high=9,
            unit="dB",
            source="common practice, no source",
        )
    for asked_hz in (120.0, -37.3):
        moved = tune(Emission(samples=tone(1000, 8), rate_hz=BASEBAND_RATE_HZ, level_db=0), asked_hz)
        sound = through(Conditions(snr_db=None), moved).astype(np.float64)
        size = 1 << 20
        spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), size))
        heard_hz = float(np.argmax(spectrum)) * AUDIO_RATE_HZ / size
        yield Row(
            what=f"1000 Hz heard through {asked_hz:+g} Hz of mistuning",
            figure=heard_hz - 1000,
            low=asked_hz - 0.5,
            high=asked_hz + 0.5,
            unit="Hz",
            source="arithmetic",
        )


# --- ionosphere ---------------------------------------------------------------------------------


def check_fading() -> Iterator[Row]:
    """Statistics of a fading tap over 20,000 s at a spread of 1 Hz."""
    from scipy import stats

    rate_hz, seconds = 64, 20_000
    taps = FadingTap(1.0, rate_hz, stream(SEED, "check")).take(rate_hz * seconds).astype(np.complex128)
    power = np.abs(taps) ** 2
    source = "ITU-R F.1487, Annex 1"
    spectrum = np.abs(np.fft.fft(taps)) ** 2
    frequency = np.fft.fftfreq(len(taps), 1 / rate_hz)
    sigma = float(np.sqrt(np.sum(frequency**2 * spectrum) / np.sum(spectrum)))

    def row(what: str, figure: float, limits: tuple[float, float, str], where: str) -> Row:
        low, high, unit = limits
        return Row(what=what, figure=figure, low=low, high=high, unit=unit, source=where)

    yield row("Doppler spread, two sigma, at 1 Hz", 2 * sigma, (0.95, 1.05, "Hz"), source)
    yield row("mean power of a tap", db(float(np.mean(power))), (-0.13, 0.13, "dB"), source)
    p = stats.kstest(np.sqrt(power[::rate_hz]), stats.rayleigh(scale=np.sqrt(0.5)).cdf).pvalue
    yield row("Rayleigh amplitude, Kolmogorov-Smirnov p", float(p), (0.001, 1, ""), "Rayleigh")
    for level_db in (0, -3, -10):
        rho = 10 ** (level_db / 20)
        above = np.sqrt(power) >= rho
        rate = float(np.count_nonzero(~above[:-1] & above[1:])) / seconds
        wanted = float(np.sqrt(np.pi) * rho * np.exp(-(rho**2)))
        what = f"crossing rate at {level_db} dB over Rice's"
        yield row(what, rate / wanted, (0.95, 1.05, ""), "S. O. Rice 1945: sqrt(pi) B r exp(-r^2)")
        fade = float(np.mean(~above)) / rate
        mean = (np.exp(rho**2) - 1) / (np.sqrt(np.pi) * rho)
        what = f"mean fade duration at {level_db} dB over the closed form"
        yield row(what, fade / float(mean), (0.94, 1.06, ""), "(exp(r^2) - 1) / (sqrt(pi) B r)")


def second_path_ms(delay_ms: float) -> float:
    """Return the delay of the second path as its impulse response shows it."""
    signal = np.zeros(1024, np.complex64)
    signal[200] = 1
    # The band of a voice, as its filter leaves it: a sinc at BASEBAND_RATE_HZ would be wider.
    path = WattersonFading(Fading(delay_ms=delay_ms, spread_hz=0.0), stream(SEED, "check"))
    response = np.concatenate([path.process(signal), path.finish()])
    response[200] = 0
    fine = np.fft.ifft(np.pad(np.fft.fftshift(np.fft.fft(response)), 16 * 1024))
    at = float(np.argmax(np.abs(fine))) * 1024 / len(fine)
    return (at - 200) / BASEBAND_RATE_HZ * 1000


def check_delay() -> Iterator[Row]:
    """Differential delay in the impulse response."""
    for delay_ms in (0.5, 1.3, 2.0, 7.0):
        yield Row(
            what=f"second path, delay of {delay_ms:g} ms",
            figure=second_path_ms(delay_ms),
            low=delay_ms - 0.02,
            high=delay_ms + 0.02,
            unit="ms",
            source="ITU-R F.1487, table",
        )


# --- noise --------------------------------------------------------------------------------------


def voltage_deviation_db(sound: NDArray[np.floating]) -> float:
    """Return Vd of a sound's envelope, which scipy's Hilbert transform gives."""
    from scipy.fft import next_fast_len
    from scipy.signal import hilbert

    size = next_fast_len(len(sound))
    envelope = np.abs(hilbert(sound, size)[: len(sound)])
    return float(20 * np.log10(np.sqrt(np.mean(envelope**2)) / np.mean(envelope)))


def check_noise() -> Iterator[Row]:
    """Vd of Gaussian noise and of static after the receiver's filter."""
    for vd_db, low, high in ((None, 1.0, 1.1), (3.0, 2.7, 3.3), (6.0, 5.7, 6.3), (9.0, 8.7, 9.3)):
        sound = through(Conditions(snr_db=0.0, noise=Noise(vd_db=vd_db)), silence(600))
        yield Row(
            what="Vd of Gaussian noise"
            if vd_db is None
            else f"Vd of static asked for {vd_db:g} dB",
            figure=voltage_deviation_db(sound),
            low=low,
            high=high,
            unit="dB",
            source="10 lg(4/pi)" if vd_db is None else "Vd: ITU-R P.372, here in 2.6 kHz",
        )
    yield Row(
        what="man-made noise, residential, 14 MHz",
        figure=man_made("residential", 14).median_db,
        low=40.74,
        high=40.76,
        unit="dB",
        source="ITU-R P.372: 72.5 - 27.7 lg f",
    )
    parts = (
        ExternalNoise(median_db=60.732650, upper_db=10.600910, lower_db=8.277667),
        ExternalNoise(median_db=76.8, upper_db=11.0, lower_db=6.7),
        ExternalNoise(median_db=52.0, upper_db=2.0, lower_db=2.0),
    )
    yield Row(
        what="three noises combined at 1 MHz",
        figure=combine(parts).median_db,
        low=76.985526,
        high=76.987526,
        unit="dB",
        source="ITU-R P.372 section 8; example of Study Group 3's program",
    )


# --- receiver -----------------------------------------------------------------------------------


def filter_gain_db(frequency_hz: float) -> float:
    """Return the gain of the usual receiver's filter for a tone."""
    sound = through(Conditions(snr_db=None), tone(frequency_hz, 2)).astype(np.float64)
    middle = sound[AUDIO_RATE_HZ // 2 : -AUDIO_RATE_HZ // 2]
    return db(float(np.mean(middle**2)) + 1e-15)


def check_receiver() -> Iterator[Row]:
    """Filter mask and AGC."""
    source = "mask of the design: 200 to 2800 Hz, skirts 150 Hz"
    inside = [filter_gain_db(f) for f in (280, 500, 1000, 1500, 2000, 2720)]
    for what, figure, low, high in (
        ("filter, ripple from 280 to 2720 Hz", max(map(abs, inside)), 0, 0.05),
        ("filter, 200 Hz", filter_gain_db(200), -6.2, -5.8),
        ("filter, 2800 Hz", filter_gain_db(2800), -6.2, -5.8),
        ("filter, best outside 120 to 2880 Hz", max(map(filter_gain_db, OUTSIDE_HZ)), -200, -60),
    ):
        yield Row(what=what, figure=figure, low=low, high=high, unit="dB", source=source)
    yield from check_agc()


OUTSIDE_HZ = (-400.0, -200.0, 0.0, 100.0, 2900.0, 3100.0, 3300.0)


def agc_gain_db(levels_db: tuple[float, ...], seconds: float) -> NDArray[np.float64]:
    """Return the gain over time of the medium AGC for a steady sound that steps in level."""
    control: GainControl = receiver_agc("medium", levels_db[0])
    count = round(seconds * AUDIO_RATE_HZ)  # a whole number of the AGC's blocks
    sound = np.concatenate(
        [np.full(count, 10 ** (level_db / 20), np.float32) for level_db in levels_db]
    )
    out = np.concatenate([control.process(sound), control.finish()])
    return np.asarray(20 * np.log10(out / sound), np.float64)


def check_agc() -> Iterator[Row]:
    """Steady state, attack, hold and decay of the AGC."""
    source = "the AGC's stated times; common practice, no source"

    def row(what: str, figure: float, low: float, high: float, unit: str) -> Row:
        return Row(what=what, figure=figure, low=low, high=high, unit=unit, source=source)

    levels = (-20.0, 0.0, -40.0)
    gain = agc_gain_db(levels, 3.0)
    ends = [gain[3 * (n + 1) * AUDIO_RATE_HZ - AUDIO_RATE_HZ // 10] for n in range(3)]
    off = max(abs(float(end) + level - AGC_TARGET_DB) for end, level in zip(ends, levels, strict=True))
    yield row("AGC, steady output off its target, -40 to 0 dB", off, 0, 0.1, "dB")
    rise = gain[2 * AUDIO_RATE_HZ : 4 * AUDIO_RATE_HZ]
    moving = np.count_nonzero((rise > ends[1] + 0.5) & (rise < ends[0] - 0.5))
    yield row("AGC, attack, all but 0.5 dB of 20", moving / AUDIO_RATE_HZ * 1000, 2, 4, "ms")
    late = float(np.max(rise[AUDIO_RATE_HZ:])) - float(ends[1])
    yield row("AGC, overshoot of a 20 dB rise", late, -0.1, 1.5, "dB")
    fall = gain[6 * AUDIO_RATE_HZ :]
    pace = AGC_TIMING["medium"]
    start = float(np.argmax(fall > AGC_TARGET_DB + 0.1)) / AUDIO_RATE_HZ
    yield row("AGC, hold", start, pace.hold_s - 0.01, pace.hold_s + 0.01, "s")
    half = float(np.argmax(fall > AGC_TARGET_DB + 20)) / AUDIO_RATE_HZ
    slope = 20 / (half - pace.hold_s)
    yield row("AGC, decay", slope, 0.97 * pace.decay_db_per_s, 1.03 * pace.decay_db_per_s, "dB/s")


# --- the whole path -----------------------------------------------------------------------------

WHOLE = Conditions(
    snr_db=0.0,
    fading=Fading(delay_ms=2.0, spread_hz=1.0),
    noise=Noise(vd_db=4.0),
    receiver=Receiver(agc="quick"),
)


def heard(piece: int) -> Sound:
    """Return the first ten seconds of a voice through the whole path, in pieces of this size."""
    signal = transmit(voice(), WHOLE.transmitter).samples[: 10 * BASEBAND_RATE_HZ]
    path = Channel(WHOLE, SEED)
    parts = [path.process(signal[at : at + piece]) for at in range(0, len(signal), piece)]
    return np.concatenate([*parts, path.finish()])


def check_repeatability() -> Iterator[Row]:
    """The same samples in pieces of any size and in another process."""
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    reference = heard(1 << 30)
    source = "house rule: within 1 LSB of 16 bits"
    for piece in (7, 160, 4096):
        off = float(np.max(np.abs(heard(piece) - reference))) / LSB
        yield Row(
            what=f"pieces of {piece} samples against the whole",
            figure=off,
            low=0,
            high=1,
            unit="LSB",
            source=source,
        )
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        other = pool.submit(heard, CHUNK_SAMPLES).result()
    yield Row(
        what="another process against this one",
        figure=float(np.max(np.abs(other - reference))) / LSB,
        low=0,
        high=1,
        unit="LSB",
        source=source,
    )


def intelligibility(conditions: Conditions) -> float:
    """Return ESTOI of what is heard of a voice, AGC off, against the same without noise and fading.

    Source: J. Jensen, C. Taal, An algorithm for predicting the intelligibility of speech masked by
    modulated noise maskers, IEEE/ACM Trans. Audio 24 (2016); package pystoi.
    """
    from pystoi import stoi

    signal = transmit(voice(), Transmitter()).samples
    clean = through(Conditions(snr_db=None), signal)
    return float(stoi(clean, through(conditions, signal), AUDIO_RATE_HZ, extended=True))


def check_intelligibility() -> Iterator[Row]:
    """An independent index rises with SNR and falls with disturbance."""
    source = "ESTOI, Jensen and Taal 2016, package pystoi"
    values = [intelligibility(Conditions(snr_db=snr)) for snr in (-9.0, -3.0, 3.0, 9.0, 15.0)]
    yield Row(
        what="ESTOI at -9, -3, 3, 9, 15 dB: least rise of a step",
        figure=float(np.min(np.diff(values))),
        low=0.03,
        high=1,
        unit="",
        source=source,
    )
    names = ("steady", "mid-disturbed", "low-disturbed", "high-disturbed")
    values = [intelligibility(Conditions(snr_db=None, fading=parse_fading(name))) for name in names]
    yield Row(
        what="ESTOI without noise, steady to high-disturbed: least fall of a step",
        figure=float(np.min(-np.diff(values))),
        low=0.01,
        high=1,
        unit="",
        source=source,
    )


def check_power() -> Iterator[Row]:
    """Watts as decibels."""
    for watts, wanted in ((20.0, -6.9897), (5.0, -13.0103)):
        yield Row(
            what=f"{watts:g} W against 100 W",
            figure=watts_to_snr(0.0, watts),
            low=wanted - 1e-3,
            high=wanted + 1e-3,
            unit="dB",
            source="10 lg of the ratio",
        )


CHECKS: tuple[Callable[[], Iterator[Row]], ...] = (
    check_level,
    check_snr,
    check_transmitter,
    check_fading,
    check_delay,
    check_noise,
    check_receiver,
    check_repeatability,
    check_intelligibility,
    check_power,
)
