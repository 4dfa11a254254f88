"""Sentences of the report."""

from drill.report.wording import CONVENTIONS


def test_the_report_says_that_a_repeated_item_counts_in_no_statistics() -> None:
    assert any("replayed before its answer" in sentence for sentence in CONVENTIONS)
