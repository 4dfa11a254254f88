"""The comparison of a club: only hunts on the same band; differences may be luck."""

from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.hunt.club import ClubHunt, club_passages, read_club, same_bands
from drill.hunt.exports import HuntRow, write_hunts

START = "2026-11-27T20:00:00+00:00"


def row(
    *,
    right: int = 10,
    score: int = 100,
    band: str = "a",
    started: str = START,
    stations: tuple[str, ...] = (),
) -> HuntRow:
    return HuntRow(
        schema=1, hunt="x", started=started, same_band=band, bands=("jammed",), exchange="serial",
        seed=7, minutes=60.0, watts=5.0, seconds=3600.0, logged=right + 1, right=right,
        verdicts={"right": right}, points=right, areas=1, score=score,
        times_s=(1.0, 2.0, 3.0, 4.0, 5.0), stations=stations, own_call="",
    )  # fmt: skip


def test_only_shared_bands_are_compared_the_best_score_first() -> None:
    hunts = [
        ClubHunt(name="anna", row=row(score=50)),
        ClubHunt(name="ben", row=row(score=80)),
        ClubHunt(name="ben", row=row(score=999, started="2026-11-28T20:00:00+00:00")),
        ClubHunt(name="cleo", row=row(band="b")),
    ]
    (group,) = same_bands(hunts)
    assert [(hunt.name, hunt.row.score) for hunt in group] == [("ben", 80), ("anna", 50)]


@pytest.mark.parametrize(
    ("first", "second", "luck"), [(12, 10, True), (20, 9, False), (11, 10, True)]
)
def test_a_small_difference_may_be_luck(first: int, second: int, luck: bool) -> None:
    hunts = [
        ClubHunt(name="anna", row=row(right=first)),
        ClubHunt(name="ben", row=row(right=second)),
    ]
    (passage,) = club_passages(hunts)
    assert ("may be luck" in passage.sentences[0]) is luck
    assert passage.table is not None
    assert passage.table.rows[0][2] == str(first)


def test_stations_worked_by_all_and_by_one_are_counted() -> None:
    hunts = [
        ClubHunt(name="anna", row=row(stations=("OF1QUN", "OF2QUN"))),
        ClubHunt(name="ben", row=row(stations=("OF2QUN", "OF3QUN"))),
    ]
    (passage,) = club_passages(hunts)
    assert passage.sentences[1] == (
        "Together you worked 3 stations: everybody worked 1 of them, and only one of you worked 2."
    )


def test_hunts_are_named_after_their_files(tmp_path: Path) -> None:
    for name in ("anna", "ben"):
        write_hunts(tmp_path / f"{name}.jsonl", [row()])
    hunts = read_club([tmp_path / "anna.jsonl", tmp_path / "ben.jsonl"])
    assert [hunt.name for hunt in hunts] == ["anna", "ben"]
    with pytest.raises(UserError):
        read_club([tmp_path / "anna.jsonl"])
