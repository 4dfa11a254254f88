"""The form of the link budget: the values that terminal and page ask for, checked in one place.

The keys are the names of the page's fields and, with hyphens, the options of `faintcall budget`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from drill.core.errors import UserError
from drill.core.validation import Check, checked_entries, checked_text, one_of, within
from drill.linkbudget.antennas import (
    feed_line_loss_db,
    radiation_resistance_ohm,
    shortening_loss_db,
)
from drill.linkbudget.budget import MAX_WATTS, MIN_WATTS, Circuit, LinkEnd
from drill.linkbudget.noise_levels import MAX_MHZ, MIN_MHZ, NOISE_CATEGORIES
from drill.linkbudget.s_meter import path_snr_from_s


@dataclass(frozen=True, kw_only=True, slots=True)
class FormNumber:
    """One number in the form.

    label: name in messages. low, high: allowed range, both included. default: None if the value may
    be missing. explanation: one phrase for the help of the terminal.
    """

    label: str
    low: float
    high: float
    unit: str
    default: float | None = None
    explanation: str


FORM_NUMBERS = {
    "watts": FormNumber(
        label="my power",
        low=MIN_WATTS,
        high=MAX_WATTS,
        unit="W",
        default=5,
        explanation="my power, PEP",
    ),
    "far_watts": FormNumber(
        label="power of the far station",
        low=MIN_WATTS,
        high=MAX_WATTS,
        unit="W",
        default=100,
        explanation="power of the far station, PEP",
    ),
    "frequency": FormNumber(
        label="frequency",
        low=MIN_MHZ,
        high=MAX_MHZ,
        unit="MHz",
        default=14.2,
        explanation="frequency",
    ),
    "path_snr": FormNumber(
        label="SNR of the path",
        low=-100,
        high=150,
        unit="dB",
        default=10,
        explanation="the path: SNR in 3 kHz at the far end from 100 W, with unprocessed speech, "
        "reference antennas and no losses",
    ),
    "antenna": FormNumber(
        label="gain of my antenna",
        low=-40,
        high=40,
        unit="dB",
        default=0,
        explanation="gain of my antenna relative to the reference antenna",
    ),
    "far_antenna": FormNumber(
        label="gain of the far antenna",
        low=-40,
        high=40,
        unit="dB",
        default=0,
        explanation="gain of the far station's antenna relative to the reference antenna",
    ),
    "short": FormNumber(
        label="shortening loss",
        low=0,
        high=60,
        unit="dB",
        default=0,
        explanation="loss of my shortened antenna",
    ),
    "wire_length": FormNumber(
        label="height of the wire",
        low=0.01,
        high=200,
        unit="m",
        explanation="instead of that loss: height of my short vertical wire",
    ),
    "loss_ohms": FormNumber(
        label="loss resistance",
        low=0,
        high=1000,
        unit="ohm",
        default=10,
        explanation="loss resistance of ground and coil, for the height of the wire",
    ),
    "line": FormNumber(
        label="loss of the feed line",
        low=0,
        high=60,
        unit="dB",
        default=0,
        explanation="loss of my feed line",
    ),
    "line_length": FormNumber(
        label="length of the feed line",
        low=0,
        high=1000,
        unit="m",
        explanation="instead of that loss: length of my feed line, with its loss per 100 m",
    ),
    "line_loss": FormNumber(
        label="loss of 100 m of feed line",
        low=0,
        high=100,
        unit="dB",
        explanation="loss of 100 m of that line at this frequency",
    ),
    "atmospheric": FormNumber(
        label="atmospheric noise",
        low=0,
        high=150,
        unit="dB",
        explanation="atmospheric noise at both ends, in dB above k T0 b",
    ),
}
NOISE_PLACES = {"here": "quiet-rural", "there": "residential"}
"""Fields that take a noise category, with their defaults."""
S_READING_FIELD = "path_s"
"""Field that describes the path by an S reading, instead of `path_snr`."""


def _noise_category(field: str, value: Any, *, label: str) -> str:
    """Return the noise category with this name in any case. Raises: UserError."""
    category = value.strip().lower() if isinstance(value, str) else value
    return str(one_of(field, category, NOISE_CATEGORIES, label=label))


_CHECKS: dict[str, Check] = {
    **{
        name: partial(
            within, low=number.low, high=number.high, unit=number.unit, label=number.label
        )
        for name, number in FORM_NUMBERS.items()
    },
    **{name: partial(_noise_category, label=f"noise category {name}") for name in NOISE_PLACES},
    S_READING_FIELD: partial(checked_text, label="S reading", longest=20),
}


def circuit_from_form(values: Mapping[str, Any]) -> Circuit:
    """Return the circuit that a form describes.

    values: entries of FORM_NUMBERS, NOISE_PLACES and S_READING_FIELD; missing values and None mean
    the default.

    Raises: UserError with the name of the wrong field.
    """
    given = checked_entries(values, _CHECKS)
    frequency_mhz = _number(given, "frequency")
    there = LinkEnd(
        watts=_number(given, "far_watts"),
        antenna_db=_number(given, "far_antenna"),
        noise_category=given.get("there", NOISE_PLACES["there"]),
        atmospheric_db=given.get("atmospheric"),
    )
    here = LinkEnd(
        watts=_number(given, "watts"),
        antenna_db=_number(given, "antenna"),
        shortening_loss_db=_shortening_loss_db(given, frequency_mhz),
        line_loss_db=_line_loss_db(given),
        noise_category=given.get("here", NOISE_PLACES["here"]),
        atmospheric_db=given.get("atmospheric"),
    )
    return Circuit(
        here=here,
        there=there,
        frequency_mhz=frequency_mhz,
        path_snr_db=_path_snr_db(given, there, frequency_mhz),
    )


def _number(given: Mapping[str, Any], name: str) -> float:
    """Return a number that has a default."""
    return float(given.get(name, FORM_NUMBERS[name].default))


def _exclude(given: Mapping[str, Any], name: str, other: str, message: str) -> None:
    """Raise UserError for the field `name` if both fields are given."""
    if name in given and other in given:
        raise UserError(message, field=name)


def _shortening_loss_db(given: Mapping[str, Any], frequency_mhz: float) -> float:
    if "wire_length" not in given:
        return _number(given, "short")
    _exclude(
        given,
        "short",
        "wire_length",
        "give either the shortening loss or the height of the wire, not both",
    )
    try:
        radiation_ohm = radiation_resistance_ohm(given["wire_length"], frequency_mhz)
    except UserError as error:
        raise UserError(str(error), field="wire_length", kind=error.kind) from None
    return shortening_loss_db(radiation_ohm, _number(given, "loss_ohms"))


def _line_loss_db(given: Mapping[str, Any]) -> float:
    if "line_length" not in given and "line_loss" not in given:
        return _number(given, "line")
    message = "give either the loss of the feed line or its length and loss per 100 m, not both"
    for name in ("line_length", "line_loss"):
        _exclude(given, "line", name, message)
        if name not in given:
            raise UserError(
                "give the length of the feed line together with its loss per 100 m",
                field=name,
                kind="missing",
            )
    return feed_line_loss_db(given["line_length"], given["line_loss"])


def _path_snr_db(given: Mapping[str, Any], there: LinkEnd, frequency_mhz: float) -> float:
    if S_READING_FIELD not in given:
        return _number(given, "path_snr")
    _exclude(
        given,
        S_READING_FIELD,
        "path_snr",
        "describe the path either by its SNR or by an S reading, not both",
    )
    try:
        return path_snr_from_s(given[S_READING_FIELD], there, frequency_mhz)
    except UserError as error:
        raise UserError(str(error), field=S_READING_FIELD, kind=error.kind) from None
