"""The limits of figures, and findings for figures beyond them."""

import pytest

from drill.sending.limits import FIGURE_LIMITS, figure_findings


@pytest.mark.parametrize("kind", FIGURE_LIMITS)
def test_a_limit_is_an_upper_or_lower_one_and_has_a_source(kind: str) -> None:
    limit = FIGURE_LIMITS[kind]
    assert limit.source
    assert limit.unit
    assert (limit.low is None) != (limit.high is None)
    assert limit.allows(None)


def test_a_figure_beyond_its_limit_is_a_finding() -> None:
    figures: dict[str, float | None] = dict.fromkeys(FIGURE_LIMITS)
    assert list(figure_findings(figures)) == []
    figures |= {"pause": 1.2, "quiet": -40.5}
    (finding,) = figure_findings(figures)
    assert (finding.kind, finding.figure, finding.unit) == ("quiet", -40.5, "dB")
