"""The description of a budget: its tables, and the cautions that belong to it."""

from drill.linkbudget.budget import link_budget
from drill.linkbudget.describe import BUDGET_CAUTION, describe_budget
from drill.linkbudget.form import circuit_from_form

CIRCUIT = circuit_from_form({"watts": 10, "path_snr": 12, "line_length": 50, "line_loss": 4})


def test_the_tables_have_the_figures_of_the_budget() -> None:
    directions, powers = describe_budget(CIRCUIT).tables
    budget = link_budget(CIRCUIT)
    # 12 dB, less 10 dB of power and 2 dB of line; 34.8 dB of bandwidth and 10 dB to the PEP.
    assert directions.rows[0] == (
        "my signal there",
        "10",
        "+0.0",
        "44.8",
        "below usable",
        "below usable",
    )
    assert directions.rows[1][:3] == (
        "their signal here",
        "100",
        f"{budget.theirs_here.snr_db:+.1f}",
    )
    assert [row[:4] for row in powers.rows] == [
        ("+0.0 dB", "100", "+10.0", "54.8"),
        ("-7.0 dB", "20", "+3.0", "47.8"),
        ("-10.0 dB", "10", "+0.0", "44.8"),
        ("-13.0 dB", "5", "-3.0", "41.8"),
    ]
    for table in (directions, powers):
        assert {len(row) for row in (table.head, *table.rows)} == {6}


def test_the_usual_powers_are_not_listed_twice() -> None:
    powers = describe_budget(circuit_from_form({"watts": 5})).tables[1]
    assert [row[1] for row in powers.rows] == ["100", "20", "5"]


def test_the_notes_name_losses_and_end_with_the_caution() -> None:
    description = describe_budget(CIRCUIT)
    assert description.summary.startswith("My signal arrives there with an SNR of +0.0 dB in 3 kHz")
    assert any("shortening 0.0 dB, feed line 2.0 dB" in note for note in description.notes)
    assert any("requires 6, 15 and 33 dB" in note for note in description.notes)
    assert description.notes[-1] == BUDGET_CAUTION
    assert "does not plan an actual circuit" in BUDGET_CAUTION
    assert "licence" in BUDGET_CAUTION
