"""Sentences for goodness of fit and for the flags of an estimate, shared by all screens.

The texts are clauses: they start in lower case and have no full stop.
"""

from drill.psychometrics.checks import Flag, GoodnessOfFit

_FLAG_TEXTS = {
    "few": "{n:.0f} items are too few for a threshold; take at least {required:.0f}",
    "wide": "the interval is {width_db:.1f} dB wide: too few items near the threshold",
    "x80-beyond": "the SNR for 80 % is above every SNR presented; it depends on the assumed shape "
    "of the curve",
    "lapses": "items are missed even at high SNR, more often than the {cap_percent:.0f} % that the "
    "fit allows; the SNR for 80 % is estimated too low",
    "misfit": "the curve does not describe these items (p {p:.3f}); its interval is too narrow",
    "days": "with fewer than {required:.0f} blocks the day-to-day variation is unknown and is not "
    "part of the interval",
    "one-sided": "{right:.0f} of {n:.0f} items were right: the threshold is {side} these SNRs",
    "moving": "from the first half to the second the threshold {direction} by {size_db:.1f} dB: "
    "fatigue or learning within the block",
}


def describe_flag(flag: Flag) -> str:
    """Return a flag as a clause."""
    figures = flag.figures
    change_db = figures.get("change_db", 0.0)
    return _FLAG_TEXTS[flag.key].format(
        **figures,
        cap_percent=100 * figures.get("cap", 0.0),
        side="below" if figures.get("right") else "above",
        direction="rose" if change_db > 0 else "fell",
        size_db=abs(change_db),
    )


def describe_goodness_of_fit(goodness: GoodnessOfFit) -> str:
    """Return what the goodness of fit means, as a clause."""
    if goodness.is_misfit:
        return _FLAG_TEXTS["misfit"].format(p=goodness.p)
    return f"no evidence of misfit (p {goodness.p:.2f})"
