"""The link budget for the page: a form's values in, sentences and tables out."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from drill.core.errors import UserError
from drill.linkbudget import budget as link
from drill.linkbudget.describe import directions, ladder, sentences
from drill.linkbudget.noise_levels import CATEGORIES, HIGH_MHZ, LOW_MHZ


class FieldError(UserError):
    """A mistake in one field of a form; field: its name."""

    def __init__(self, field: str, message: str) -> None:
        """Keep the field beside the message."""
        super().__init__(message)
        self.field = field


@dataclass(frozen=True, kw_only=True)
class Field:
    """A number of the form: what it is called, its range, its unit, and its default."""

    label: str
    low: float
    high: float
    unit: str
    default: float | None = None


FIELDS = {
    "watts": Field(label="My power", low=0.001, high=2000, unit="W", default=5),
    "far_watts": Field(label="Their power", low=0.001, high=2000, unit="W", default=100),
    "frequency": Field(label="Frequency", low=LOW_MHZ, high=HIGH_MHZ, unit="MHz", default=14.2),
    "path_snr": Field(label="SNR of the path", low=-100, high=150, unit="dB", default=10),
    "antenna": Field(label="My antenna", low=-40, high=40, unit="dB", default=0),
    "far_antenna": Field(label="Their antenna", low=-40, high=40, unit="dB", default=0),
    "short": Field(label="Loss by shortening", low=0, high=60, unit="dB"),
    "wire_length": Field(label="Height of my wire", low=0.01, high=200, unit="m"),
    "loss_ohms": Field(label="Loss resistance", low=0, high=1000, unit="ohm", default=10),
    "line": Field(label="Loss of my feed line", low=0, high=60, unit="dB"),
    "line_length": Field(label="Length of my feed line", low=0, high=1000, unit="m"),
    "line_loss": Field(label="Loss of 100 m of line", low=0, high=100, unit="dB"),
    "atmospheric": Field(label="Atmospheric noise", low=0, high=150, unit="dB"),
}
PLACES = {"here": "quiet-rural", "there": "residential"}


def budget_json(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return sentences and tables of the circuit that a form describes.

    values: of FIELDS and PLACES, and path_s; what is missing or null is as by default.
    Raises: UserError; FieldError where it is one field's.
    """
    circuit = circuit_of(values)
    return {
        "sentences": sentences(circuit),
        "tables": [asdict(directions(circuit)), asdict(ladder(circuit))],
    }


def circuit_of(values: Mapping[str, Any]) -> link.Circuit:
    """Return the circuit that a form describes. Raises: UserError, FieldError."""
    for name in values:
        if name not in FIELDS and name not in PLACES and name != "path_s":
            raise UserError(f"there is no field {name!r} in the budget")
    number = {name: _number(name, values.get(name)) for name in FIELDS}
    place = {name: _place(name, values.get(name)) for name in PLACES}
    frequency = number["frequency"] or 0.0
    there = link.Station(
        watts=number["far_watts"] or 0.0,
        antenna_db=number["far_antenna"] or 0.0,
        category=place["there"],
        atmospheric_db=number["atmospheric"],
    )
    here = link.Station(
        watts=number["watts"] or 0.0,
        antenna_db=number["antenna"] or 0.0,
        short_db=_short_db(number, frequency),
        line_db=_line_db(number),
        category=place["here"],
        atmospheric_db=number["atmospheric"],
    )
    return link.Circuit(
        here=here,
        there=there,
        frequency_mhz=frequency,
        path_snr_db=_path_db(values.get("path_s"), number, there, frequency),
    )


def _number(name: str, value: Any) -> float | None:
    field = FIELDS[name]
    if value is None:
        return field.default
    usable = isinstance(value, int | float) and not isinstance(value, bool)
    if not usable or not field.low <= value <= field.high:
        shown = f"{value:g} {field.unit}" if usable else repr(value)
        raise FieldError(
            name,
            f"{field.label}: {shown} is out of range; give {field.low:g} to {field.high:g} "
            f"{field.unit}",
        )
    return float(value)


def _place(name: str, value: Any) -> str:
    if value is None:
        return PLACES[name]
    if not isinstance(value, str) or value not in CATEGORIES:
        raise FieldError(
            name, f"noise {name}: {value!r} is unknown; choose one of {', '.join(CATEGORIES)}"
        )
    return str(value)


def _short_db(number: Mapping[str, float | None], frequency_mhz: float) -> float:
    length = number["wire_length"]
    if length is None:
        return number["short"] or 0.0
    if number["short"] is not None:
        raise FieldError("short", "give the loss by shortening or the height of the wire, not both")
    try:
        radiation = link.radiation_ohm(length, frequency_mhz)
    except UserError as error:
        raise FieldError("wire_length", str(error)) from None
    return link.shortening_db(radiation, number["loss_ohms"] or 0.0)


def _line_db(number: Mapping[str, float | None]) -> float:
    length, loss = number["line_length"], number["line_loss"]
    if length is None and loss is None:
        return number["line"] or 0.0
    if number["line"] is not None:
        raise FieldError("line", "give the loss of the feed line or its length, not both")
    if length is None or loss is None:
        missing = "line_length" if length is None else "line_loss"
        raise FieldError(missing, "give length and loss of 100 m together")
    return link.line_db(length, loss)


def _path_db(
    reading: Any, number: Mapping[str, float | None], there: link.Station, frequency_mhz: float
) -> float:
    if reading is None:
        return number["path_snr"] or 0.0
    try:
        return link.path_snr_from_s(str(reading), there, frequency_mhz)
    except UserError as error:
        raise FieldError("path_s", str(error)) from None
