"""The scripted trainee over many seeds, compared with an independent simulation of contacts."""

from functools import cache

import pytest

from drill.contact.debrief import ContactResult, contact_result
from drill.contact.live import LiveContact
from drill.contact.scripted_operator import Manners
from tests.drill.contact.scripted_trainee import ScriptedTrainee, make_frequency
from tests.tools.contact_table import PATHS_DB, SIMULATION, VARIANTS, WATTS, Cell, play_cell

SEEDS = 100


@cache
def cell(watts: float, path_db: float, callers: int, manners: Manners | None = None) -> Cell:
    return play_cell(SEEDS, watts=watts, path_snr_db=path_db, callers=callers, manners=manners)


def played(seed: int, callers: int) -> ContactResult:
    live = LiveContact(make_frequency(seed, watts=5.0, path_snr_db=12.0, callers=callers))
    ScriptedTrainee(live).run()
    assert live.ended
    return contact_result(live, place=0)


@pytest.mark.parametrize("callers", [0, 3])
def test_every_contact_ends(callers: int) -> None:
    for seed in range(15):
        assert played(seed, callers).overs <= 40


@pytest.mark.slow
@pytest.mark.parametrize("callers", [0, 2])
@pytest.mark.parametrize("path_db", PATHS_DB)
def test_contacts_agree_with_the_simulation(callers: int, path_db: float) -> None:
    """Tolerances: 0.12 for shares (three standard errors of 100 and 300 contacts), 2 for overs."""
    for watts, expected in zip(WATTS, SIMULATION[callers, path_db], strict=True):
        logged, right, overs, _ = map(float, expected.split("/"))
        here = cell(watts, path_db, callers)
        assert here.logged == pytest.approx(logged, abs=0.12), (watts, here)
        assert here.right == pytest.approx(right, abs=0.12), (watts, here)
        assert here.overs == pytest.approx(overs, abs=2.0), (watts, here)


@pytest.mark.slow
@pytest.mark.parametrize("callers", [0, 2])
@pytest.mark.parametrize("path_db", PATHS_DB)
def test_more_power_never_makes_fewer_contacts(callers: int, path_db: float) -> None:
    cells = [cell(watts, path_db, callers) for watts in sorted(WATTS)]
    assert [c.right for c in cells] == sorted(c.right for c in cells)
    assert [c.overs for c in cells] == sorted((c.overs for c in cells), reverse=True)


@pytest.mark.slow
@pytest.mark.parametrize("variant", [name for name in VARIANTS if name != "plays by the rules"])
def test_breaking_a_rule_costs_contacts(variant: str) -> None:
    by_rules = cell(5.0, 12.0, 2, VARIANTS["plays by the rules"])
    assert cell(5.0, 12.0, 2, VARIANTS[variant]).right < by_rules.right - 0.05
