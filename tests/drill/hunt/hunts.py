"""Results of hunts for tests, made from stops and contacts."""

from drill.hunt.checking import CheckedContact
from drill.hunt.points import count_points, load_rules
from drill.hunt.results import HuntResult, JudgedStop, QuarterHour, StationOption
from drill.hunt.stops import Stop, times_of_hunt
from tests.drill.hunt.checked import HZ


def stop(
    holder: int = 0,
    *,
    at_s: float = 0.0,
    times_s: tuple[float, float, float, float] = (10.0, 5.0, 0.0, 10.0),
    calls: int = 1,
    overs: int = 3,
    replied: bool = True,
    knew_call: bool | None = True,
    too_long_s: float = 0.0,
) -> Stop:
    """Return a stop with one call after 8 s."""
    return Stop(
        holder=holder,
        at_s=at_s,
        seconds=sum(times_s),
        hz=HZ,
        times_s=times_s,
        calls=calls,
        overs=overs if replied else 0,
        replied=replied,
        knew_call=knew_call,
        callers=2,
        called_after_s=8.0 if calls else None,
        too_long_s=too_long_s,
    )


def judged(
    made: Stop,
    *,
    contact: int | None = None,
    mistakes: tuple[str, ...] = (),
    expected_s: float | None = None,
    better_s: float | None = None,
) -> JudgedStop:
    """Return a stop with the model's expectation. better_s: expected time of a better station."""
    better = None
    if better_s is not None:
        better = StationOption(call="OF1QUN", hz=HZ + 3000, expected_s=better_s)
    return JudgedStop(
        stop=made,
        call="OH2QRK",
        contact=contact,
        mistakes=mistakes,
        simulated=True,
        expected_s=expected_s,
        low_s=None if expected_s is None else expected_s / 3,
        high_s=None if expected_s is None else expected_s * 2,
        chance_alone=0.5,
        callers_per_hour=60.0,
        noise_above_db=6.0,
        better=better,
    )


def hunt(
    stops: tuple[JudgedStop, ...] = (),
    contacts: tuple[CheckedContact, ...] = (),
    *,
    watts: float = 5.0,
    seconds: float = 3600.0,
    seed: int = 1,
) -> HuntResult:
    """Return the result of an hour without advice."""
    return HuntResult(
        bands=("jammed",),
        exchange="serial",
        seed=seed,
        watts=watts,
        seconds=seconds,
        contacts=contacts,
        points=count_points(contacts, own_call="E87ABC", rules=load_rules()),
        quarters=(QuarterHour(right=sum(c.is_right for c in contacts), logged=len(contacts)),),
        times_s=times_of_hunt([entry.stop for entry in stops], seconds=seconds),
        stops=stops,
        passed=(),
        dial=(),
        advice=(),
    )
