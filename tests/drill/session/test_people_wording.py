"""The tables that compare people."""

from datetime import UTC, datetime

from drill.psychometrics.intervals import Interval
from drill.session.people import PersonSummary, SetScore
from drill.session.people_wording import people_table, set_table


def test_everybody_has_a_row_with_figures_or_the_problem() -> None:
    table = people_table(
        [
            PersonSummary(
                name="",
                answered=12,
                right_at_first_hearing=9,
                x50_db=Interval(value=-2.0, low=-3.5, high=-0.5),
                newest=datetime(2026, 3, 1, 12, tzinfo=UTC),
            ),
            PersonSummary(name="Bo", problem="the record is damaged"),
        ]
    )
    assert len(table.head) == 5
    assert table.rows[0][:3] == ("(no name)", "12", "9")
    assert "-2.0 dB" in table.rows[0][3].replace("\u2212", "-")
    assert table.rows[0][4] == "2026-03-01"
    assert table.rows[1] == ("Bo", "the record is damaged", "", "", "")


def test_the_scores_of_a_set_keep_their_order() -> None:
    scores = [
        SetScore(name="Anna", answered=4, right=3, characters_right=20, characters_sent=22),
        SetScore(name="", answered=4, right=1, characters_right=15, characters_sent=22),
    ]
    assert set_table(scores).rows == (
        ("Anna", "3 of 4", "20 of 22"),
        ("(no name)", "1 of 4", "15 of 22"),
    )
