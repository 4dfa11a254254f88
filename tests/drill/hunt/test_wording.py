from dataclasses import replace

import pytest

from drill.hunt.checking import VERDICTS
from drill.hunt.points import load_rules
from drill.hunt.stops import HUNT_PHASES
from drill.hunt.wording import (
    HUNT_PHASE_NAMES,
    VERDICT_NAMES,
    contacts_table,
    dial_text,
    expected_text,
    figures_sentences,
    heading_parts,
    lead_sentence,
    minutes_and_seconds,
    points_sentence,
    quarters_table,
    stops_table,
    times_table,
    verdict_text,
)
from tests.drill.hunt.checked import checked
from tests.drill.hunt.hunts import hunt, judged, stop

RESULT = hunt(
    (
        judged(stop(0), contact=0, expected_s=30.0),
        judged(stop(1, replied=False, calls=4), expected_s=900.0, better_s=40.0),
        judged(stop(2, replied=False)),
    ),
    (checked(), checked(theirs=None, number=2), checked(logged=None)),
)


def test_every_verdict_and_phase_has_a_name() -> None:
    assert set(VERDICT_NAMES) == set(VERDICTS)
    assert set(HUNT_PHASE_NAMES) == set(HUNT_PHASES)


def test_the_heading_and_the_lead_count_the_contacts() -> None:
    assert heading_parts(RESULT) == ("1 of 2", "contacts are right in both logs")
    assert heading_parts(hunt()) == ("0", "contacts were logged")
    assert lead_sentence(RESULT) == (
        "1 contact in 60 minutes with 5 W. Not counted: 1 not in their log, 1 not in your log."
    )
    assert lead_sentence(hunt()) == "No contact in 60 minutes with 5 W."
    assert lead_sentence(hunt(contacts=(checked(),))).endswith("None was lost.")


def test_a_verdict_names_the_wrong_entry() -> None:
    assert verdict_text(checked()) == "in both logs"
    assert verdict_text(checked(logged="OH2QRA 212")) == "wrong call: it was OH2QRK"
    assert verdict_text(checked(logged="OH2QRK 213")) == "wrong exchange: it was 59 212"
    assert verdict_text(checked(theirs=("E87APC", "034"))).endswith("they have E87APC")
    assert verdict_text(checked(theirs=("E87ABC", "035"))).endswith("they have 035")


def test_tables_have_a_row_for_each_entry() -> None:
    assert len(contacts_table(RESULT).rows) == 3
    assert contacts_table(RESULT).rows[0][-1] == "3"
    assert len(quarters_table(RESULT).rows) == 1
    assert len(times_table(RESULT).rows) == len(HUNT_PHASES)
    rows = stops_table(RESULT).rows
    assert [row[5] for row in rows] == ["in both logs", "no answer", "no answer"]
    assert [row[6] for row in rows] == [
        "30 seconds (10 s to 60 s)",
        "15 minutes (5 min to 30 min)",
        "more than 4 minutes",
    ]
    assert rows[1][7] == "OF1QUN, 14 203.0: 40 seconds"


def test_sentences_have_the_figures_of_the_hunt() -> None:
    assert "3 stations and called 3" in figures_sentences(RESULT)[0]
    assert len(figures_sentences(RESULT)) == 6
    assert len(figures_sentences(hunt())) == 1
    text = points_sentence(RESULT, load_rules())
    assert "2 points times 1 area is 2" in text


@pytest.mark.parametrize(
    ("hz", "text"),
    [(14_222_000.0, "14 222.0"), (7_005_049.0, "7 005.0"), (14_199_960.0, "14 200.0")],
)
def test_frequencies_are_written_in_khz(hz: float, text: str) -> None:
    assert dial_text(hz) == text


def test_times_are_written_in_seconds_or_minutes() -> None:
    assert minutes_and_seconds(1) == "1 second"
    assert minutes_and_seconds(89) == "89 seconds"
    assert minutes_and_seconds(120) == "2 minutes"
    assert expected_text(judged(stop())) == "more than 4 minutes"
    assert expected_text(replace(judged(stop()), simulated=False)) == ""
