"""Each mistake is found in the over that makes it, and in no other."""

import pytest

from drill.contact.acts import CALL, EXCHANGE, Act
from drill.contact.air import samples
from drill.contact.live import LiveContact
from drill.contact.mistakes import MISTAKES, find_mistakes
from drill.contact.scripted_operator import Manners
from tests.drill.contact.scripted_trainee import OWN, ScriptedTrainee, make_frequency

LISTEN_S = 3.0


def mistakes_of(*acts: tuple[float, str], until_s: float = 25.0) -> dict[str, int]:
    live = LiveContact(make_frequency(3, watts=100.0, path_snr_db=30.0))
    for at_s, kind in acts:
        live.act(Act(at=samples(at_s), kind=kind))
    live.advance(samples(until_s))
    return find_mistakes(live.frequency.trace, OWN.call, listen_s=LISTEN_S)


def test_without_overs_there_are_no_mistakes() -> None:
    assert find_mistakes([], OWN.call, listen_s=LISTEN_S) == {}


@pytest.mark.parametrize(
    ("kind", "acts"),
    [
        ("sent-while-they-sent", ((1.2, CALL),)),
        ("called-without-listening", ((10.0, CALL), (11.0, CALL))),
        ("repeated-unasked", ((6.0, CALL), (18.0, EXCHANGE), (18.1, EXCHANGE))),
    ],
)
def test_a_mistake_has_the_time_of_its_first_over(
    kind: str, acts: tuple[tuple[float, str], ...]
) -> None:
    found = mistakes_of(*acts)
    assert kind in found
    assert samples(acts[0][0]) <= found[kind] <= samples(acts[-1][0])


@pytest.mark.parametrize("seed", range(8))
def test_a_trainee_without_these_habits_makes_none(seed: int) -> None:
    live = LiveContact(make_frequency(seed, watts=100.0, path_snr_db=25.0))
    ScriptedTrainee(live, Manners()).run()
    found = find_mistakes(live.frequency.trace, OWN.call, listen_s=LISTEN_S)
    assert not set(found) - {"sent-while-they-sent"}
    assert list(found) == [kind for kind in MISTAKES if kind in found]
