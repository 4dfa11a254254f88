"""The parameters of the simulation, read from values.toml."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from drill.core.structuring import from_data
from drill.core.validation import known_keys


@dataclass(frozen=True, kw_only=True, slots=True)
class EarValues:
    """How well an operator copies at an SNR in 3 kHz.

    threshold_db, slope_per_db, lapse: psychometric function of one word. station_sd_db: spread of
    the threshold between stations. wrong_in_noise, wrong_under_voices: share of missed words that
    are mistaken for another word. notice_db: level relative to the threshold at which half of all
    voices are noticed, with notice_slope_per_db. doubt_below: a word with a lower confidence counts
    as not made out.
    """

    threshold_db: float
    slope_per_db: float
    lapse: float
    station_sd_db: float
    wrong_in_noise: float
    wrong_under_voices: float
    notice_db: float
    notice_slope_per_db: float
    doubt_below: float


@dataclass(frozen=True, kw_only=True, slots=True)
class PathValues:
    """Strength of the paths; mean_db and sd_db: SNR at the far end at 100 W."""

    mean_db: float
    sd_db: float
    drift_sd_db: float
    second_path_share: float
    mistuning_sd_hz: float


@dataclass(frozen=True, kw_only=True, slots=True)
class StationValues:
    """Equipment, noise and callers of the far stations, and the time that they stay."""

    watts: tuple[float, ...]
    watts_weights: tuple[float, ...]
    noise_mean_db: float
    noise_sd_db: float
    callers_weights: tuple[float, ...]
    callers_per_hour: float
    busy_share: float
    stays_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class SpeechValues:
    """Lengths of words and pauses in seconds for the accelerated clock, and the keying times."""

    code_word_s: float
    digit_s: float
    procedure_word_s: float
    comma_s: float
    stop_s: float
    pace_sd: float
    lead_s: float
    tail_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class FarValues:
    """Time-outs in seconds and limits of patience of the far operator."""

    listen_s: float
    listen_after_end_s: float
    await_call_s: float
    await_exchange_s: float
    reaction_s: float
    longest_wait_s: float
    max_asks: int
    max_gives: int
    max_exchange_asks: int
    max_corrections: int
    gaps_with_exchange: int
    correction_votes: int
    identifies: float
    calls_twice: float


@dataclass(frozen=True, kw_only=True, slots=True)
class CallerValues:
    """Habits, levels and patience of the other callers; shares are from 0 to 1."""

    delay_low_s: float
    delay_high_s: float
    calls: float
    undisciplined: float
    stray_answer: float
    tries_low: int
    tries_high: int
    silence_s: float
    after_exchange_s: float
    max_exchanges: int
    notices_error: float
    hears: float
    level_mean_db: float
    level_sd_db: float
    doubled: float
    partial: float
    missing_only: float
    audible: float
    audible_mean_db: float
    audible_sd_db: float


@dataclass(frozen=True, kw_only=True, slots=True)
class DebriefValues:
    """Limits of the debrief, in seconds."""

    listen_s: float
    idle_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class ContactValues:
    """All parameters of the simulation, by section of values.toml.

    ears: of a trained listener. recogniser: of the far end's recogniser, as a listener.
    """

    ears: EarValues
    recogniser: EarValues
    path: PathValues
    station: StationValues
    speech: SpeechValues
    far: FarValues
    caller: CallerValues
    debrief: DebriefValues


@cache
def _packaged_data() -> dict[str, dict[str, Any]]:
    return tomllib.loads((files("drill.contact") / "values.toml").read_text("utf-8"))


def load_values(changes: Mapping[str, Any] | None = None) -> ContactValues:
    """Return the bundled parameters with some changes.

    changes: new values by dotted name, such as {"far.max_asks": 2}. Raises: UserError for an
    unknown name or a value of the wrong type.
    """
    data = {section: dict(entries) for section, entries in _packaged_data().items()}
    names = [f"{section}.{name}" for section, entries in data.items() for name in entries]
    known_keys(changes or {}, names)
    for dotted_name, value in (changes or {}).items():
        section, _, name = dotted_name.partition(".")
        data[section][name] = value
    return from_data(ContactValues, data)


def recorded_values(data: Mapping[str, Mapping[str, Any]]) -> ContactValues:
    """Return the parameters of a recorded session.

    Parameters that a later version has added get their bundled values; removed ones are ignored.
    Raises: UserError for a value of the wrong type.
    """
    return load_values(
        {
            f"{section}.{name}": value
            for section, entries in data.items()
            for name, value in entries.items()
            if name in _packaged_data().get(section, {})
        }
    )
