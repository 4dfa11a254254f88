"""The result of a hunt, as data; drill.hunt.wording puts it into words."""

from dataclasses import dataclass

from drill.hunt.checking import CheckedContact
from drill.hunt.points import HuntPoints
from drill.hunt.stops import Stop

LONGEST_EXPECTED_S = 240.0
"""Expected times are computed only up to this time."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ExpectedTime:
    """The time in seconds until a station answers the trainee, from n simulations.

    low_s, high_s: bounds of the middle 80 % of the simulated times.
    """

    mean_s: float
    low_s: float
    high_s: float
    n: int


@dataclass(frozen=True, kw_only=True, slots=True)
class StationOption:
    """A station that the trainee could have called.

    expected_s: expected time in seconds until it would have answered the trainee.
    """

    call: str
    hz: float
    expected_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class JudgedStop:
    """A stop, compared with the model's expectation.

    call: of the station. contact: index in HuntResult.contacts of the contact that was made, None
    without one. mistakes: kinds of mistakes, as drill.contact.mistakes names them. chance_alone:
    probability that a call is copied whole if nobody else calls. callers_per_hour: new callers.
    noise_above_db: the station's noise above the trainee's. simulated: the expected time was
    computed. expected_s: expected time in seconds until the station answers, from the start of the
    stop, None if it mostly takes longer than the simulations; low_s, high_s: bounds of the middle
    80 %. better: a station that the trainee could hear and had not worked, and that would have
    answered sooner; None if none is known.
    """

    stop: Stop
    call: str
    contact: int | None
    mistakes: tuple[str, ...] = ()
    chance_alone: float = 0.0
    callers_per_hour: float = 0.0
    noise_above_db: float = 0.0
    simulated: bool = False
    expected_s: float | None = None
    low_s: float | None = None
    high_s: float | None = None
    better: StationOption | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntAdvice:
    """A piece of advice.

    kind: one of drill.hunt.advice.HUNT_ADVICE. cost_s: seconds that the habit cost, by the record.
    count: number of cases. stop: index in HuntResult.stops of the clearest case, None without one.
    seconds: a figure of the sentence, whose meaning depends on the kind.
    """

    kind: str
    cost_s: float
    count: int
    stop: int | None = None
    seconds: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class QuarterHour:
    """A quarter of an hour of a hunt: contacts that are right, and contacts that were logged."""

    right: int
    logged: int


@dataclass(frozen=True, kw_only=True, slots=True)
class DialRest:
    """A position of the dial: `hz`, from at_s on, in seconds from the start of the hunt."""

    at_s: float
    hz: float


@dataclass(frozen=True, kw_only=True, slots=True)
class HuntResult:
    """The result of a hunt.

    bands: names of the presets. watts: the trainee's power. seconds: ear time until the end.
    contacts: in the order of the pad, then those that only the other station logged. times_s:
    seconds in each of HUNT_PHASES. stops, advice: in order; advice: the most costly first. passed:
    stations that the trainee heard but never called; the soonest to answer come first. dial: every
    frequency where the dial rested for a while.
    """

    bands: tuple[str, ...]
    exchange: str
    seed: int
    watts: float
    seconds: float
    contacts: tuple[CheckedContact, ...]
    points: HuntPoints
    quarters: tuple[QuarterHour, ...]
    times_s: tuple[float, ...]
    stops: tuple[JudgedStop, ...]
    passed: tuple[StationOption, ...]
    dial: tuple[DialRest, ...]
    advice: tuple[HuntAdvice, ...]

    @property
    def right(self) -> int:
        """Number of contacts that count."""
        return sum(contact.is_right for contact in self.contacts)

    @property
    def logged(self) -> int:
        """Number of contacts that the trainee logged."""
        return sum(contact.number is not None for contact in self.contacts)

    @property
    def hours(self) -> float:
        """Length in hours."""
        return self.seconds / 3600
