"""The dial over the time of a hunt, with the contacts, as data for a picture."""

from dataclasses import dataclass

from drill.hunt.advice import LEAVE_SOONER
from drill.hunt.points import HZ_PER_BAND
from drill.hunt.results import HuntResult
from drill.hunt.wording import dial_text, minutes_and_seconds

MAX_DIAL_POINTS = 600
"""Maximum number of points of the line, in addition to the long rests of the dial."""
LONG_REST_S = 20.0
MARGIN_KHZ = 2.0


@dataclass(frozen=True, kw_only=True, slots=True)
class DialBand:
    """The part of a band that the dial visited, in kHz."""

    low_khz: float
    high_khz: float


@dataclass(frozen=True, kw_only=True, slots=True)
class DialContact:
    """A contact: time in seconds, dial in kHz, and whether it counts."""

    at_s: float
    khz: float
    right: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class LongStay:
    """A stop that went on too long, from start_s to end_s, with its label."""

    start_s: float
    end_s: float
    khz: float
    label: str


@dataclass(frozen=True, kw_only=True, slots=True)
class DialPicture:
    """The content of the picture.

    says: the picture in words. seconds: length of the hunt. bands: from low to high. points: time
    in seconds and frequency in kHz of each turn to a frequency at which the dial stayed. quarters:
    contacts that count in each quarter hour.
    """

    says: str
    seconds: float
    bands: tuple[DialBand, ...]
    points: tuple[tuple[float, float], ...]
    contacts: tuple[DialContact, ...]
    quarters: tuple[int, ...]
    stay: LongStay | None


def dial_picture(result: HuntResult) -> DialPicture:
    """Return the picture of the dial over a hunt."""
    hertz = [rest.hz for rest in result.dial] + [contact.hz for contact in result.contacts]
    bands = tuple(
        DialBand(low_khz=min(inside) / 1000 - MARGIN_KHZ, high_khz=max(inside) / 1000 + MARGIN_KHZ)
        for band in sorted({hz // HZ_PER_BAND for hz in hertz})
        if (inside := [hz for hz in hertz if hz // HZ_PER_BAND == band])
    )
    contacts = tuple(
        DialContact(at_s=contact.at_s, khz=contact.hz / 1000, right=contact.is_right)
        for contact in result.contacts
    )
    return DialPicture(
        says=_words(result, bands),
        seconds=result.seconds,
        bands=bands,
        points=_points(result),
        contacts=contacts,
        quarters=tuple(quarter.right for quarter in result.quarters),
        stay=_long_stay(result),
    )


def _points(result: HuntResult) -> tuple[tuple[float, float], ...]:
    """Return time and kHz of the dial's rests; of very many, the long ones and regular others."""
    rests = result.dial
    every = -(-len(rests) // MAX_DIAL_POINTS)
    ends = [*(rest.at_s for rest in rests[1:]), result.seconds]
    return tuple(
        (rest.at_s, rest.hz / 1000)
        for index, (rest, end) in enumerate(zip(rests, ends, strict=False))
        if index % every == 0 or end - rest.at_s >= LONG_REST_S
    )


def _long_stay(result: HuntResult) -> LongStay | None:
    """Return the stop of the advice to leave sooner, if it was given."""
    for advice in result.advice:
        if advice.kind == LEAVE_SOONER and advice.stop is not None:
            stop = result.stops[advice.stop].stop
            return LongStay(
                start_s=stop.at_s,
                end_s=stop.at_s + stop.seconds,
                khz=stop.hz / 1000,
                label=f"{minutes_and_seconds(stop.seconds)}, no answer",
            )
    return None


def _words(result: HuntResult, bands: tuple[DialBand, ...]) -> str:
    where = " and ".join(
        f"{dial_text(1000 * (band.low_khz + MARGIN_KHZ))} to "
        f"{dial_text(1000 * (band.high_khz - MARGIN_KHZ))} kHz"
        for band in bands
    )
    lost = sum(contact.is_lost for contact in result.contacts)
    quarters = ", ".join(f"{quarter.right}" for quarter in result.quarters)
    stay = _long_stay(result)
    stood = ""
    if stay is not None:
        stood = (
            f" From minute {stay.start_s / 60:.0f} to {stay.end_s / 60:.0f} it stood on "
            f"{dial_text(1000 * stay.khz)} without an answer."
        )
    return (
        f"The dial over {minutes_and_seconds(result.seconds)}, {where}. Contacts that count: "
        f"{result.right}; lost: {lost}.{stood} By quarter hours: {quarters}."
    )
