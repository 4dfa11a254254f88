"""The radio path in training: fading, mistuning, other stations, noise and the receiver's filter.

A quick stand-in for drill.radio on batches at 8 kHz; evaluation goes through drill.radio itself.
Levels are in dB relative to the wanted station's active level. Source of the two-path model with a
Gaussian Doppler spectrum: ITU-R F.1487.
"""

import math

import torch
from torch import Tensor
from torch.nn import functional

from drill.recogniser.own.front_end import RATE_HZ
from tests.tools.train_recogniser.augment_voice import FFT_SIZE, active_power, band, frequencies
from tests.tools.train_recogniser.config import AugmentationConfig
from tests.tools.train_recogniser.draws import Draws

FADING_RATE_HZ = 100
FADING_SAMPLES = 2048
FADING_START = 300
MOST_NEIGHBOURS = 3
SHARE_OF_MORE = 0.45
PULSE_S = 0.008


def analytic(sound: Tensor, gain: Tensor) -> Tensor:
    """Return the analytic signal of sound (batch, n) after a filter (batch, frequencies)."""
    spectrum = torch.fft.rfft(sound, FFT_SIZE) * gain * 2
    spectrum = functional.pad(spectrum[:, 1:-1], (1, FFT_SIZE // 2))
    return torch.fft.ifft(spectrum)[:, : sound.shape[1]]


def fading_gain(draws: Draws, count: int, spread_hz: Tensor) -> Tensor:
    """Return complex Gaussian gains of unit mean power, (batch, count).

    spread_hz: twice the standard deviation of the Doppler spectrum.
    """
    frequency = torch.fft.fftfreq(FADING_SAMPLES, 1 / FADING_RATE_HZ).to(draws.device)[None]
    shape = torch.exp(-frequency.pow(2) / (4 * (spread_hz / 2).pow(2).clamp(min=1e-4)))
    shape = shape / shape.pow(2).mean(1, keepdim=True).sqrt()
    noise = torch.randn(draws.batch, FADING_SAMPLES, dtype=torch.complex64, device=draws.device)
    gain = torch.fft.ifft(torch.fft.fft(noise) * shape)
    step = RATE_HZ // FADING_RATE_HZ
    gain = gain[:, FADING_START : FADING_START + count // step + 3]
    parts = torch.stack([gain.real, gain.imag], 1)
    parts = functional.interpolate(parts, scale_factor=step, mode="linear")[:, :, :count]
    return torch.complex(parts[:, 0], parts[:, 1])


def faded(signal: Tensor, draws: Draws) -> Tensor:
    """Return the signal over one or two paths that fade."""
    count = signal.shape[1]
    spread_hz = draws.even_log(0.1, 12.0)
    first = fading_gain(draws, count, spread_hz)
    second = fading_gain(draws, count, spread_hz)
    delay = (draws.even(0.2, 7) * (RATE_HZ / 1000)).long()
    index = (torch.arange(count, device=signal.device)[None] - delay).clamp(min=0)
    late = torch.gather(torch.view_as_real(signal), 1, index[..., None].expand(-1, -1, 2))
    two = draws.chance(0.8)
    scale = torch.where(two, math.sqrt(0.5), 1.0)
    return scale * (first * signal + two * second * torch.view_as_complex(late))


def some_faded(signal: Tensor, draws: Draws, share: float) -> Tensor:
    """Return the signals, a share of them faded."""
    chosen = draws.some(share)
    if not len(chosen):
        return signal
    result = signal.clone()
    result[chosen] = faded(signal[chosen], draws.of(len(chosen)))
    return result


def _seconds(count: int, device: torch.device) -> Tensor:
    return torch.arange(count, device=device)[None] / RATE_HZ


def shifted(signal: Tensor, offset_hz: Tensor) -> Tensor:
    """Return the analytic signal shifted in frequency."""
    turns = offset_hz * _seconds(signal.shape[1], signal.device)
    return signal * torch.exp(2j * math.pi * (turns % 1.0))


def neighbours(voice: Tensor, receiver: Tensor, config: AugmentationConfig, draws: Draws) -> Tensor:
    """Return what the receiver gets from up to three other stations, real, (batch, n).

    Each further station occurs in SHARE_OF_MORE times as many items as the one before. Levels are
    set after the receiver's filter.
    """
    total = torch.zeros(voice.shape, device=voice.device)
    for number in range(MOST_NEIGHBOURS):
        chosen = draws.some(config.neighbours * SHARE_OF_MORE**number)
        if not len(chosen):
            continue
        others = voice[(chosen + 7 * (number + 1)) % draws.batch]
        heard = _neighbour(others, receiver[chosen], draws.of(len(chosen)))
        total.index_add_(0, chosen, heard)
    return total


def _neighbour(other: Tensor, receiver: Tensor, draws: Draws) -> Tensor:
    """Return another station after the receiver's filter, at its level.

    It is nearly on the same frequency and weaker, beside it, on the other sideband, or over-driven
    so that it splatters.
    """
    count = other.shape[1]
    other = torch.roll(other, int(torch.randint(count, (1,))), 1)
    kind = torch.rand(draws.batch, 1, device=draws.device)
    close, inverted, splatters = kind < 0.35, (kind >= 0.35) & (kind < 0.5), kind >= 0.75
    drive = draws.even_log(0.2, 1.5)
    clipped = other * (1 + (other.abs() / drive).pow(4)).pow(-0.25)
    other = torch.where(splatters | draws.chance(0.3), clipped, other)
    other = torch.where(inverted, other.conj(), other)
    offset_hz = draws.sign() * draws.even(1300, 2600)
    offset_hz = torch.where(splatters, draws.sign() * draws.even(2200, 3900), offset_hz)
    offset_hz = torch.where(inverted, draws.even(2500, 3500), offset_hz)
    offset_hz = torch.where(close, draws.even(-260, 260), offset_hz)
    other = shifted(some_faded(other, draws, 0.5), offset_hz)
    heard = torch.fft.irfft(torch.fft.rfft(other.real, FFT_SIZE) * receiver, FFT_SIZE)[:, :count]
    heard = heard / heard.pow(2).mean(1, keepdim=True).sqrt().clamp(min=1e-5)
    level_db = torch.where(close, draws.even(-24, 0), draws.even(-20, 12))
    return heard * 10 ** (level_db / 20)


def noise(count: int, config: AugmentationConfig, draws: Draws) -> Tensor:
    """Return noise of unit power in 3 kHz, (batch, n): white or tilted, with static and pulses."""
    frequency = frequencies(draws.device)
    white = torch.randn(draws.batch, count, device=draws.device) * math.sqrt(RATE_HZ / 2 / 3000)
    tilt = draws.chance(0.35) * draws.even(-3, 3)
    gain = torch.exp(
        tilt * (math.log(10) / 20) * torch.log2(frequency.clamp(200, 3500) / 1000)[None]
    )
    white = torch.fft.irfft(torch.fft.rfft(white, FFT_SIZE) * gain, FFT_SIZE)[:, :count]
    knots = torch.randn(draws.batch, count // 160 + 2, device=draws.device).clamp(-3, 3)
    static = torch.exp(draws.even(0.3, 1.3) * knots)
    static = static / static.pow(2).mean(1, keepdim=True).sqrt()
    static = functional.interpolate(static[:, None], size=count, mode="linear")[:, 0]
    white = torch.where(draws.chance(config.static), white * static, white)
    return white + _interference(count, config, draws)


def _interference(count: int, config: AugmentationConfig, draws: Draws) -> Tensor:
    """Return clicks, whistles, mains buzz and swept pulses, each in a share of the items."""
    total = torch.zeros(draws.batch, count, device=draws.device)
    kinds = ((_clicks, 1 / 2), (_whistle, 1 / 2), (_buzz, 1 / 3), (_pulses, 1 / 3))
    for make, part in kinds:
        chosen = draws.some(config.interference * part)
        if len(chosen):
            total.index_add_(0, chosen, make(count, draws.of(len(chosen))))
    return total


def _clicks(count: int, draws: Draws) -> Tensor:
    rare = torch.rand(draws.batch, count, device=draws.device) < draws.even_log(1, 30) / RATE_HZ
    return rare * torch.randn(draws.batch, count, device=draws.device) * draws.even_log(10, 60)


def _whistle(count: int, draws: Draws) -> Tensor:
    turns = draws.even(300, 2700) * _seconds(count, draws.device)
    return draws.even_log(0.2, 1.5) * torch.cos(2 * math.pi * turns)


def _buzz(count: int, draws: Draws) -> Tensor:
    """Return pulses at twice the mains frequency that swell slowly."""
    seconds = _seconds(count, draws.device)
    rate_hz = torch.where(draws.chance(0.5), 100.0, 120.0)
    phase = (rate_hz * seconds + draws.even(0, 1)) % 1.0
    buzz = torch.exp(-0.5 * ((phase - 0.5) * RATE_HZ / rate_hz / 0.6).pow(2))
    swell = 1 + 0.5 * torch.sin(2 * math.pi * draws.even(1, 8) * seconds)
    return _unit_power(buzz - buzz.mean(1, keepdim=True)) * swell * draws.even_log(0.2, 1.5)


def _pulses(count: int, draws: Draws) -> Tensor:
    """Return pulses of 8 ms that sweep up through the voice band."""
    rate_hz = draws.even_log(4, 40)
    since_s = ((rate_hz * _seconds(count, draws.device) + draws.even(0, 1)) % 1.0) / rate_hz
    sweep = torch.cos(2 * math.pi * (300 * since_s + 2400 / PULSE_S / 2 * since_s.pow(2)))
    pulses = (since_s < PULSE_S) * sweep * torch.sin(math.pi * since_s / PULSE_S)
    return _unit_power(pulses) * draws.even_log(0.3, 3)


def _unit_power(sound: Tensor) -> Tensor:
    return sound / sound.pow(2).mean(1, keepdim=True).sqrt().clamp(min=1e-4)


def received(voice: Tensor, snr_db: Tensor, config: AugmentationConfig, draws: Draws) -> Tensor:
    """Return the receiver's output for voices (batch, n) with noise at snr_db (batch, 1)."""
    count = voice.shape[1]
    frequency = frequencies(voice.device)
    sideband = band(frequency, draws.even(180, 420), draws.even(2350, 2950), draws.even(40, 200))
    receiver = band(frequency, draws.even(130, 420), draws.even(2350, 3050), draws.even(30, 150))
    signal = analytic(voice, sideband)
    signal = signal / active_power(signal.real).sqrt()
    offset_hz = draws.normal(45).clamp(-120, 120) * draws.chance(config.mistuning)
    sound = shifted(some_faded(signal, draws, config.fading), offset_hz).real
    sound = sound + noise(count, config, draws) * 10 ** (-snr_db / 20)
    sound = torch.fft.irfft(torch.fft.rfft(sound, FFT_SIZE) * receiver, FFT_SIZE)[:, :count]
    return sound + neighbours(signal, receiver, config, draws)
