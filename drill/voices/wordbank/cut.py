"""One recording of one word, made ready for a word bank: found, cut, levelled, and judged.

Faults are sentences for the speaker; none of them stops the word from being used.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import resampled, runs
from drill.core.errors import UserError
from drill.core.models import Samples
from drill.radio.levels import P56_HANGOVER_S, decibels, speech_level

RATE_HZ = 24_000
LEVEL_DB = -26.0  # of a full-scale square wave; as ITU-T P.830 has it (value from memory)
HIGHEST_PEAK = 0.98
LEAD_S = 0.025  # kept before the first sound of a word
TAIL_S = 0.045
RAMP_S = 0.008
LOWEST_HZ = 75.0  # a transmitter passes nothing from there down, mains hum lies there
FRAME_S = 0.005
# From here on: common practice, no source.
DEPTH_DB = 38.0  # what is so far below the loudest 5 ms is no part of the word
CLEAR_DB = 6.0  # what is nearer to the background is no part of the word
HEARD_DB = 10.0  # the loudest of a word rises so far above the background
END_FRAMES = 10
STEADY_DB = 6.0
BELOW_DB = 15.0  # no background lies higher against the loudest of a word
INNER_S = 0.25  # a silence within a word is shorter
CLICK_S = 0.03  # a sound so short, with a silence after it, is a key or a switch
CLICK_GAP_S = 0.12
SECOND_S = 0.08  # a sound so long beside the word is another word
SECOND_DB = 18.0
EDGE_DB = 25.0
SOFT_DB = -42.0
SNR_DB = 20.0
SHORTEST_S = 0.1
LONGEST_S = 2.5
CLIPPED_RUN = 4
RATES_HZ = (8_000, 192_000)
SILENT = 1e-6

Run = tuple[int, int]  # first frame that is loud, first one after it that is not


@dataclass(frozen=True, kw_only=True, eq=False)
class Cut:
    """A word, ready: float32 at RATE_HZ, the sound from LEAD_S on and until TAIL_S before the end.

    seconds: how long it sounds. level_db, peak_db: of the recording as it came. snr_db: its level
    against the background, None where there is nothing but the word.
    """

    samples: Samples
    seconds: float
    level_db: float
    peak_db: float
    snr_db: float | None
    faults: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """Return the figures in a line."""
        above = "" if self.snr_db is None else f", {self.snr_db:.0f} dB above the background"
        return (
            f"{self.seconds:.2f} s, level {self.level_db:.0f} dB, peak {self.peak_db:.0f} dB{above}"
        )


def cut(samples: NDArray[np.floating], rate_hz: int, *, noise_db: float | None = None) -> Cut:
    """Return the word in a recording, shape (n,), full scale 1.

    noise_db: level of the background where it is known, else it is taken from around the word.
    Raises: UserError where no word is in it, or the rate is not from 8 to 192 kHz.
    """
    if not RATES_HZ[0] <= rate_hz <= RATES_HZ[1]:
        raise UserError(f"rate {rate_hz} Hz is out of range; allowed are 8000 to 192000 Hz")
    sound = np.asarray(samples, dtype=np.float64)
    peak = float(np.abs(sound).max()) if len(sound) else 0.0
    if not np.isfinite(peak) or peak < SILENT:
        raise UserError("there is no sound in it")
    clean = fitted(sound, rate_hz)
    level = levels(clean)
    if noise_db is not None and level.max() < noise_db + HEARD_DB:
        raise UserError("nothing in it stands out from the background")
    first, last, others = _bounds(level, noise_db)
    if (last - first) * FRAME_S < SHORTEST_S:
        raise UserError(f"there is no word of {SHORTEST_S:g} s or more in it")
    background = _background(level, first, last) if noise_db is None else noise_db
    word = _kept(clean, first, last)
    level_db = _speech_db(word)
    snr_db = None if background is None else level_db - background
    return Cut(
        samples=_levelled(word, level_db),
        seconds=(last - first) * FRAME_S,
        level_db=level_db,
        peak_db=2 * decibels(peak),
        snr_db=snr_db,
        faults=_faults(
            sound, level, (first, last), others=others, level_db=level_db, snr_db=snr_db
        ),
    )


def level_of(samples: NDArray[np.floating]) -> float:
    """Return the active speech level in dB of one word alone at RATE_HZ, a pause after it.

    Without the pause, the hangover of P.56 would end with the samples, and the level of a word
    would hang on how closely it is cut. Source: ITU-T P.56 (12/2011), method B.
    """
    return _speech_db(np.asarray(samples, dtype=np.float64))


def _speech_db(word: NDArray[np.float64]) -> float:
    pause = np.zeros(round(2 * P56_HANGOVER_S * RATE_HZ))
    try:
        return speech_level(np.concatenate((word, pause)), RATE_HZ).active_db
    except ValueError:
        raise UserError("there is no word in it, only a click") from None


def fitted(sound: NDArray[np.float64], rate_hz: int) -> NDArray[np.float64]:
    """Return the sound, shape (n,), at RATE_HZ, without what lies below a voice."""
    from scipy.signal import butter, sosfiltfilt

    sound = resampled(sound, rate_hz, RATE_HZ)
    # Both ends are padded, so that even a recording of a few samples can be filtered.
    pad = round(0.05 * RATE_HZ)
    filtered = sosfiltfilt(
        butter(6, LOWEST_HZ, "highpass", fs=RATE_HZ, output="sos"), np.pad(sound, pad)
    )
    return np.asarray(filtered[pad : pad + len(sound)], dtype=np.float64)


def levels(sound: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the level in dB of every 5 ms, shape (frames,); the last one may be padded."""
    hop = round(FRAME_S * RATE_HZ)
    frames = np.pad(sound, (0, -len(sound) % hop)).reshape(-1, hop)
    return np.asarray(10 * np.log10(np.mean(frames**2, axis=1) + 1e-20))


def _bounds(level: NDArray[np.float64], noise_db: float | None) -> tuple[int, int, list[list[Run]]]:
    """Return first and last frame (one past it) of the word, and the runs of what else sounds."""
    loudest = float(level.max())
    floor = _floor(level) if noise_db is None else noise_db
    least = min(max(loudest - DEPTH_DB, floor + CLEAR_DB), loudest - 12)
    loud = runs(level > least)
    groups = [[loud[0]]]
    for run in loud[1:]:
        if (run[0] - groups[-1][-1][1]) * FRAME_S < INNER_S:
            groups[-1].append(run)
        else:
            groups.append([run])
    power = 10 ** (level / 10)
    groups.sort(key=lambda group: -sum(float(power[a:b].sum()) for a, b in group))
    word, *others = groups
    while len(word) > 1 and _is_click(*word[:2]):
        word = word[1:]
    return word[0][0], word[-1][1], others


def _floor(level: NDArray[np.float64]) -> float:
    """Return the level of the background, minus infinity where the recording is cut closely.

    It is that of the quieter of the ends that are steady for 50 ms; no word begins or ends so.
    """
    steady = []
    for end in (level[:END_FRAMES], level[-END_FRAMES:]):
        smooth = 10 * np.log10(np.convolve(10 ** (end / 10), np.full(4, 0.25), "valid"))
        if np.ptp(smooth) < STEADY_DB:
            steady.append(float(np.median(end)))
    floor = min(steady, default=-np.inf)
    return floor if floor < level.max() - BELOW_DB else -np.inf


def _is_click(run: Run, after: Run) -> bool:
    short = (run[1] - run[0]) * FRAME_S <= CLICK_S
    return short and (after[0] - run[1]) * FRAME_S >= CLICK_GAP_S


def _background(level: NDArray[np.float64], first: int, last: int) -> float | None:
    """Return the usual level before and after the word, None where there is too little of it."""
    margin = 8
    outside = np.concatenate((level[: max(0, first - margin)], level[last + margin :]))
    return float(np.median(outside)) if len(outside) * FRAME_S >= 0.05 else None


def _kept(sound: NDArray[np.float64], first: int, last: int) -> NDArray[np.float64]:
    """Return the word with its lead and tail, ramped, zeros where the recording has none."""
    hop = round(FRAME_S * RATE_HZ)
    begin, end = first * hop - round(LEAD_S * RATE_HZ), last * hop + round(TAIL_S * RATE_HZ)
    there = sound[max(0, begin) : min(len(sound), end)].copy()
    size = min(round(RAMP_S * RATE_HZ), len(there) // 2)
    ramp = 0.5 - 0.5 * np.cos(np.pi * (np.arange(size) + 0.5) / size)
    there[:size] *= ramp
    there[-size:] *= ramp[::-1]
    return np.pad(there, (max(0, -begin), max(0, end - len(sound))))


def _levelled(word: NDArray[np.float64], level_db: float) -> Samples:
    gain = 10 ** ((LEVEL_DB - level_db) / 20)
    gain = min(gain, HIGHEST_PEAK / float(np.abs(word).max()))
    return (gain * word).astype(np.float32)


def _faults(
    sound: NDArray[np.float64],
    level: NDArray[np.float64],
    word: Run,
    *,
    others: list[list[Run]],
    level_db: float,
    snr_db: float | None,
) -> tuple[str, ...]:
    loudest = float(level.max())
    second = any(
        sum(b - a for a, b in other) * FRAME_S >= SECOND_S
        and max(level[a:b].max() for a, b in other) > loudest - SECOND_DB
        for other in others
    )
    seconds = (word[1] - word[0]) * FRAME_S
    found = {
        "clipped: lower the input's level, or keep more distance": is_clipped(sound),
        f"too soft, {level_db:.0f} dB: come closer, or raise the input's level": level_db < SOFT_DB,
        "cut off at the start: wait a moment before speaking": (
            word[0] <= 1 and level[:3].max() > loudest - EDGE_DB
        ),
        "cut off at the end": word[1] >= len(level) - 2 and level[-4:].max() > loudest - EDGE_DB,
        f"too noisy: only {snr_db or 0:.0f} dB above the background": (
            snr_db is not None and snr_db < SNR_DB
        ),
        "more than one word, or a pause in it": second,
        f"long, {seconds:.1f} s": seconds > LONGEST_S,
    }
    return tuple(sentence for sentence, so in found.items() if so)


def is_clipped(sound: NDArray[np.floating]) -> bool:
    """Return True where several samples in a row stand at the same peak: it has been cut off."""
    size = np.abs(np.asarray(sound))
    peak = float(size.max())
    if peak < 0.1:
        return False
    at_peak = runs(size >= peak * 0.9995)
    return max(b - a for a, b in at_peak) >= CLIPPED_RUN and (
        peak > 0.97 or sum(b - a >= CLIPPED_RUN for a, b in at_peak) >= 3
    )
