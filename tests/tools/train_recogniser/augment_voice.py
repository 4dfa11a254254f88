"""The far station in training: reading speed, microphone, room, compression and clipping.

Batches of float32 sound at 8 kHz. Parameters vary more widely than among real stations; common
practice, no source.
"""

import math

import torch
from torch import Tensor
from torch.nn import functional

from drill.recogniser.own.front_end import RATE_HZ
from tests.tools.train_recogniser.config import AugmentationConfig
from tests.tools.train_recogniser.draws import Draws

FFT_SIZE = 51_200
"""FFT size: long enough for 6 s and the longest room, and a product of small primes."""
TAPS = 5
ROOM_SAMPLES = 3_200
KNOTS = 14


def read_at_speed(sound: Tensor, speed: Tensor, samples: int) -> Tensor:
    """Return sound (batch, n) read at a speed for each item, (batch, samples), by windowed sinc."""
    at = torch.arange(samples, device=sound.device)[None] * speed
    whole = at.floor()
    part = at - whole
    place = whole.long()
    padded = functional.pad(sound, (TAPS, TAPS + 2))
    result = torch.zeros_like(at)
    for tap in range(1 - TAPS, TAPS + 1):
        distance = part - tap
        weight = torch.sinc(distance) * torch.cos(distance * (math.pi / (2 * TAPS + 1))).square()
        index = (place + tap + TAPS).clamp(0, padded.shape[1] - 1)
        result = result + torch.gather(padded, 1, index) * weight
    return result


def active_power(sound: Tensor) -> Tensor:
    """Return the mean power of speech while it is active, (batch, 1).

    Frames of 20 ms count while they are less than 15.9 dB below that level, or within 0.2 s after.
    Source: idea and figures of ITU-T P.56 method B; the level is found by iteration here.
    """
    power = sound.pow(2).unfold(1, 160, 160).mean(-1)
    power = functional.avg_pool1d(power[:, None], 3, 1, 1)[:, 0]
    held = functional.max_pool1d(functional.pad(power[:, None], (10, 0)), 11, 1)[:, 0]
    level = power.mean(1, keepdim=True)
    for _ in range(8):
        active = held > level * 10**-1.59
        level = (power * active).sum(1, keepdim=True) / active.sum(1, keepdim=True).clamp(min=1)
    return level.clamp(min=1e-9)


def frequencies(device: torch.device) -> Tensor:
    """Return the frequencies of a real FFT in Hz."""
    return torch.arange(FFT_SIZE // 2 + 1, device=device) * (RATE_HZ / FFT_SIZE)


def band(frequency: Tensor, low: Tensor, high: Tensor, edge: Tensor) -> Tensor:
    """Return the gain of a band filter, (batch, frequencies); edge: width of its slopes in Hz."""
    rise = torch.sigmoid((frequency[None] - low) / edge * 4)
    return rise * torch.sigmoid((high - frequency[None]) / edge * 4)


def _smooth_curve(draws: Draws, frequency: Tensor, spread_db: float) -> Tensor:
    """Return a smooth random gain in dB over log frequency, (batch, frequencies)."""
    knots = torch.randn(draws.batch, KNOTS, device=draws.device) * spread_db
    octaves = math.log2(4000 / 60)
    place = torch.log2(frequency.clamp(min=60) / 60) / octaves * (KNOTS - 1)
    place = place.clamp(0, KNOTS - 1.001)
    below = place.long()
    part = place - below
    return knots[:, below] * (1 - part) + knots[:, below + 1] * part


def transmitted(sound: Tensor, config: AugmentationConfig, draws: Draws) -> Tensor:
    """Return the voice (batch, n) at the transmitter's output, active power about 1."""
    count = sound.shape[1]
    frequency = frequencies(sound.device)
    spectrum = torch.fft.rfft(sound, FFT_SIZE)
    tilt = draws.even(-5, 5) * torch.log2(frequency.clamp(125, 4000) / 1000)[None]
    gain_db = draws.chance(config.equaliser) * (_smooth_curve(draws, frequency, 4.0) + tilt)
    spectrum = spectrum * torch.exp(gain_db * (math.log(10) / 20))
    spectrum = spectrum * torch.fft.rfft(_room(config, draws), FFT_SIZE)
    limits = band(frequency, draws.even(60, 320), draws.even(2300, 3500), draws.even(60, 400))
    sound = torch.fft.irfft(spectrum * limits, FFT_SIZE)[:, :count]
    sound = sound / active_power(sound).sqrt()
    return _clipped(_compressed(sound, config, draws), config, draws)


def _room(config: AugmentationConfig, draws: Draws) -> Tensor:
    """Return impulse responses: the direct sound, in some rooms an exponential decay after it."""
    at = torch.arange(ROOM_SAMPLES, device=draws.device)[None] / RATE_HZ
    decay = torch.exp(-6.9 * at / draws.even_log(0.08, 0.6))
    response = torch.randn(draws.batch, ROOM_SAMPLES, device=draws.device) * decay
    response = response / response.pow(2).sum(1, keepdim=True).sqrt()
    response = response * 10 ** (-draws.even(2, 20) / 20) * draws.chance(config.room)
    return torch.cat([torch.ones_like(response[:, :1]), response[:, 1:]], 1)


def _compressed(sound: Tensor, config: AugmentationConfig, draws: Draws) -> Tensor:
    """Return the sound, in some items with a slow gain that evens out its level."""
    power = functional.avg_pool1d(sound.pow(2)[:, None], 321, 80, 160)
    gain = torch.log(power[:, 0] + 0.02) * -0.5 * draws.even(0, 0.8)
    gain = gain * draws.chance(config.compression)
    gain = functional.interpolate(gain[:, None], size=sound.shape[1], mode="linear")[:, 0]
    return sound * torch.exp(gain)


def _clipped(sound: Tensor, config: AugmentationConfig, draws: Draws) -> Tensor:
    """Return the sound, clipped in some items at 0.4 to 4 times the active level."""
    level = draws.even_log(0.4, 4)
    return torch.where(draws.chance(config.clipping), torch.tanh(sound / level) * level, sound)
