"""The sections of a report and their sentences."""

from dataclasses import replace
from pathlib import Path

import pytest

from drill.items.plan import Plan
from drill.psychometrics.intervals import Interval, Trend
from drill.records.store import Store
from drill.report.confusion import ConfusionMatrix
from drill.report.figures import ComparableBlocks, Report, build_report
from drill.report.section import Section
from drill.report.sections import report_sections
from drill.report.wording import format_db
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.machine import copy_items, items_to_copy
from tests.drill.machine_copies import copy_without_sound
from tests.drill.report.sample_record import REPORT_TIME, make_plan, save_session
from tests.drill.simulated_trainee import SimulatedTrainee


def section_of(report: Report, name: str) -> Section:
    """Return a section; those of costs are skipped, because their charts take longest to draw."""
    sections = report_sections(replace(report, costs={}))
    return next(section for section in sections if section.name == name)


def with_group(report: Report, group: ComparableBlocks) -> Report:
    return replace(report, groups=(group,))


def test_an_almost_empty_record_says_what_is_missing(tmp_path: Path) -> None:
    with Store(tmp_path / "record.sqlite") as store:
        save_session(store, Practice(plan=make_plan(1, count=2)), SimulatedTrainee(), 0)
        report = build_report(store, now=REPORT_TIME)
    text = " ".join(
        sentence for section in report_sections(report) for sentence in section.sentences
    )
    assert "There is no measurement yet" in text
    assert "There are too few answers" in text
    assert "There are too few right answers" in text


def test_the_trend_is_worded_by_its_interval(five_blocks: Report) -> None:
    (group,) = five_blocks.groups

    def sentence(value: float, low: float, high: float) -> str:
        trend = Trend(per_week_db=Interval(value=value, low=low, high=high), tau_db=0.0, blocks=5)
        report = with_group(five_blocks, replace(group, trend=trend))
        return section_of(report, "trend-1").sentences[0]

    assert "by -0.10 dB per week (-0.30 to +0.10): no change is shown" in sentence(-0.1, -0.3, 0.1)
    assert "you need less SNR as time goes on" in sentence(-0.3, -0.4, -0.2)
    assert "you need more SNR as time goes on" in sentence(0.3, 0.2, 0.4)
    assert "could show is 0.10 dB per week" in sentence(0.3, 0.2, 0.4)


def test_few_blocks_are_compared_with_the_smallest_detectable_change(five_blocks: Report) -> None:
    (group,) = five_blocks.groups
    two = replace(group, blocks=group.blocks[:2], estimates=group.estimates[:2], trend=None)
    sentence = section_of(with_group(five_blocks, two), "trend-1").sentences[0]
    assert sentence.startswith("From the first to the last block x50 changed by ")
    one = replace(group, blocks=group.blocks[:1], estimates=group.estimates[:1], trend=None)
    sentence = section_of(with_group(five_blocks, one), "trend-1").sentences[0]
    assert sentence.startswith("There is only one block so far")


def test_confusions_show_substitutions_deletions_and_insertions(five_blocks: Report) -> None:
    def confusion_section(counts: dict[tuple[str, str], int]) -> Section:
        matrix = ConfusionMatrix(counts=counts, sent={"M": 40, "N": 12}, order_errors=3)
        return section_of(replace(five_blocks, confusion=matrix), "confusion")

    section = confusion_section({("M", "N"): 9, ("N", ""): 4, ("", "X"): 2, ("M", "M"): 31})
    assert "M typed as N, 9 of 40 times." in section.sentences[0]
    assert "swapped: 3;" in section.sentences[0]
    assert section.table is not None
    assert section.table.rows == (
        ("M", "N", "9 of 40", "12 to 38", ""),
        ("N", "nothing", "4 of 12", "14 to 61", "too few answers so far"),
        ("nothing", "X", "2", "", "too few answers so far"),
    )
    assert "N left out, 4 of 12 times." in confusion_section({("N", ""): 4}).sentences[0]
    assert "X typed in addition, 2 times." in confusion_section({("", "X"): 2}).sentences[0]
    assert confusion_section({("M", "M"): 9}).table is None


def test_a_figure_that_rounds_to_zero_has_a_plus_sign() -> None:
    assert format_db(Interval(value=-0.04, low=-1.26, high=1.0)) == "+0.0 (-1.3 to +1.0)"


def test_the_plan_of_the_blocks_is_in_the_headings(five_blocks: Report) -> None:
    plan: Plan = five_blocks.groups[0].plan
    heading = section_of(five_blocks, "curve-1").heading
    assert f"{plan.part}s" in heading
    assert "2 operators" in heading


def test_the_machines_result_is_shown_beside_the_curve(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    recogniser = copy_without_sound(monkeypatch)
    with Store(tmp_path / "record.sqlite") as store:
        save_session(store, Measurement.from_plan(make_plan(1), store), SimulatedTrainee(), 0)
        alone = build_report(store, now=REPORT_TIME)
        list(copy_items(store, items_to_copy(store, recogniser), recogniser))
        report = build_report(store, now=REPORT_TIME)
    assert alone.machine_is_behind
    assert not report.machine_is_behind
    section, section_alone = section_of(report, "curve-1"), section_of(alone, "curve-1")
    assert not any("recogniser" in sentence for sentence in section_alone.sentences)
    assert section.sentences[1].startswith("The recogniser silent 1 was given the same 40 calls")
    assert "not human scores" in section.sentences[-1]
    assert section.table is not None
    assert section.table.head[-1] == "machine, not a human score"
    shares = [row[-1].split(" of ") for row in section.table.rows]
    (group,) = report.groups
    assert group.machine is not None
    assert sum(int(right) for right, _ in shares) == group.machine.estimate.right
    assert [int(n) for _, n in shares] == [snr_bin.n for snr_bin in group.bins]
    assert section.draw_chart is not None
    assert section_alone.draw_chart is not None
    _, labels = section.draw_chart().axes[0].get_legend_handles_labels()
    assert labels == ["you, 40 calls", "machine, 40 of the same calls: not a human score"]
    assert section_alone.draw_chart().axes[0].get_legend() is None
