"""Sentences for the goodness of fit and for the flags of an estimate."""

import pytest

from drill.psychometrics.checks import Flag, GoodnessOfFit
from drill.psychometrics.wording import describe_flag, describe_goodness_of_fit


@pytest.mark.parametrize(
    ("flag", "text"),
    [
        (
            Flag(key="few", figures={"n": 12, "required": 40}),
            "12 items are too few for a threshold; take at least 40",
        ),
        (
            Flag(key="wide", figures={"width_db": 4.26}),
            "the interval is 4.3 dB wide: too few items near the threshold",
        ),
        (Flag(key="lapses", figures={"cap": 0.07}), "more often than the 7 % that the fit allows"),
        (Flag(key="misfit", figures={"p": 0.004}), "does not describe these items (p 0.004)"),
        (Flag(key="days", figures={"required": 5}), "with fewer than 5 blocks"),
        (
            Flag(key="one-sided", figures={"right": 60, "n": 60}),
            "60 of 60 items were right: the threshold is below these SNRs",
        ),
        (
            Flag(key="one-sided", figures={"right": 0, "n": 60}),
            "0 of 60 items were right: the threshold is above these SNRs",
        ),
        (Flag(key="moving", figures={"change_db": 3.14}), "the threshold rose by 3.1 dB"),
        (Flag(key="moving", figures={"change_db": -2.0}), "the threshold fell by 2.0 dB"),
        (Flag(key="x80-beyond"), "the SNR for 80 % is above every SNR presented"),
    ],
)
def test_each_flag_has_a_sentence_with_its_figures(flag: Flag, text: str) -> None:
    assert text in describe_flag(flag)


def test_goodness_of_fit_is_worded_by_its_p_value() -> None:
    good = GoodnessOfFit(deviance=1.0, p=0.43)
    assert describe_goodness_of_fit(good) == "no evidence of misfit (p 0.43)"
    bad = GoodnessOfFit(deviance=99.0, p=0.01)
    assert describe_goodness_of_fit(bad).startswith("the curve does not describe these items")
