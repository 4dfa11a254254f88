"""The sections about hunts: figures by power with their intervals, and where the time went."""

import pytest

from drill.hunt.checking import VERDICTS
from drill.hunt.figures import HuntHistory, summaries_by_power, summarise_hunts
from drill.hunt.results import HuntResult
from drill.hunt.stops import HUNT_PHASES
from drill.report.hunts import hunt_sections
from drill.report.pictures import RowsPicture
from tests.drill.hunt.checked import checked
from tests.drill.hunt.hunts import hunt, judged, stop


def history(*results: HuntResult) -> HuntHistory:
    return HuntHistory(
        total=summarise_hunts(results),
        by_power=summaries_by_power(results),
        hunts=tuple((f"2026-11-{day:02d}T20:00:00+00:00", r) for day, r in enumerate(results, 1)),
    )


RIGHT, LOST = checked(), checked(theirs=None)
MANY = history(
    hunt((judged(stop()),), (RIGHT,) * 16 + (LOST,)),
    hunt((judged(stop()),), (RIGHT,) * 14),
    hunt((judged(stop()),), (RIGHT,) * 50, watts=100.0),
)


def test_hunts_by_power() -> None:
    power, time, single = hunt_sections(MANY)
    assert power.sentences[0] == "In 3 hunts of 3.0 hours in all, 80 of 81 logged contacts count."
    assert power.sentences[1].startswith("With 100 W: 50.0 (37.1 to 65.9) contacts an hour")
    assert power.sentences[2].startswith("With 5 W: 15.0 (10.1 to 21.4) contacts an hour")
    assert power.table is not None
    assert [row[0] for row in power.table.rows] == ["100 W", "5 W", "all"]
    assert len(power.table.head) == len(power.table.rows[0]) == 7 + len(VERDICTS)
    assert isinstance(power.picture, RowsPicture)
    assert power.picture.rows[1].interval.value == pytest.approx(15.0)
    assert time.table is not None
    assert len(time.table.rows) == len(HUNT_PHASES)
    assert single.table is not None
    assert len(single.table.rows) == 3
    assert single.sentences == ("The best score is 150, of 2026-11-03.",)


def test_hunts_without_contacts_are_reported() -> None:
    for section in hunt_sections(history(hunt())):
        assert section.table is not None
        assert all(len(row) == len(section.table.head) for row in section.table.rows)
        assert all(sentence.endswith(".") for sentence in section.sentences)
