"""The parameters of the hunt: bands from bands/*.toml, all others from values.toml."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from typing import Any

from drill.contact.values import ContactValues, load_values, recorded_values
from drill.core.structuring import from_data
from drill.core.validation import one_of


@dataclass(frozen=True, kw_only=True, slots=True)
class BandKind:
    """A preset of a band.

    sentence: description of what the trainee hears. stations: holders of a frequency at the start.
    median_db, sd_db: their SNR in 3 kHz at the trainee. callers_per_hour: new callers of a holder
    of median strength.
    wanted_share: share of holders that have wanted_factor times as many. splatter_db: spread of the
    loss by splatter at either end. slope_db_per_hour: change of all paths. successor_share: chance
    that another holder takes a frequency that has become free.
    """

    name: str
    sentence: str
    stations: int
    width_khz: float
    median_db: float
    sd_db: float
    callers_per_hour: float
    wanted_share: float
    wanted_factor: float
    splatter_db: float
    slope_db_per_hour: float
    successor_share: float


@dataclass(frozen=True, kw_only=True, slots=True)
class WorldValues:
    """How stations come, go, drift and copy mistuned callers; times in seconds."""

    caller_slope_per_db: float
    most_callers_per_hour: float
    most_callers_of_wanted: float
    contacts_per_hour_limit: float
    most_load: float
    longest_queue: int
    stays_s: float
    free_s: float
    drift_low_s: float
    drift_high_s: float
    weekend_thinning: float
    anywhere_share: float
    place_sd_hz: float
    caller_mistuning_sd_hz: float
    near_hz: float
    hz_per_db: float
    deaf_hz: float
    hours_before: float


@dataclass(frozen=True, kw_only=True, slots=True)
class HunterValues:
    """Habits of the scripted hunter; times in seconds."""

    max_calls: int
    hop_s: float
    hop_s_per_khz: float
    longest_hop_s: float
    look_s: float
    sweep_every_s: float
    return_after_s: float
    floor_db: float
    reaction_low_s: float
    reaction_high_s: float
    patience_s: float
    short_patience_s: float
    callers_avoided: int
    longest_stop_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntValues:
    """All parameters of a hunt except those of its bands; contact: those of every contact."""

    world: WorldValues
    hunter: HunterValues
    contact: ContactValues


@cache
def _packaged_data() -> dict[str, dict[str, Any]]:
    return tomllib.loads((files("drill.hunt") / "values.toml").read_text("utf-8"))


@cache
def band_kinds() -> Mapping[str, BandKind]:
    """Return the presets by name, in alphabetical order."""
    kinds = {}
    for file in sorted((files("drill.hunt") / "bands").iterdir(), key=lambda entry: entry.name):
        name, dot, ending = file.name.partition(".")
        if dot and ending == "toml":
            data = tomllib.loads(file.read_text("utf-8"))
            kinds[name] = from_data(BandKind, {**data, "name": name})
    return kinds


def find_band_kind(name: str) -> BandKind:
    """Return a preset. Raises: UserError with field "bands"."""
    return band_kinds()[one_of("bands", name, band_kinds(), label="band")]


@cache
def load_hunt_values() -> HuntValues:
    """Return the bundled parameters."""
    data = _packaged_data()
    return HuntValues(
        world=from_data(WorldValues, data["world"]),
        hunter=from_data(HunterValues, data["hunter"]),
        contact=load_values(),
    )


def recorded_hunt_values(data: Mapping[str, Mapping[str, Any]]) -> HuntValues:
    """Return the parameters of a recorded hunt.

    Parameters that a later version has added get their bundled values; removed ones are ignored.
    Raises: UserError for a value of the wrong type.
    """
    bundled = _packaged_data()
    sections = {
        name: bundled[name]
        | {key: value for key, value in data.get(name, {}).items() if key in bundled[name]}
        for name in (field.name for field in fields(HuntValues) if field.name in bundled)
    }
    return HuntValues(
        world=from_data(WorldValues, sections["world"], "world"),
        hunter=from_data(HunterValues, sections["hunter"], "hunter"),
        contact=recorded_values(data.get("contact", {})),
    )
