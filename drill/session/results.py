"""Results of measurements and comparisons as data; drill.session.wording puts them into words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from drill.linkbudget.budget import snr_from_watts
from drill.psychometrics.bins import SnrBin, bin_trials
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.intervals import (
    Interval,
    blocks_to_show_change,
    difference_interval,
    smallest_detectable_change,
)
from drill.psychometrics.posterior import Estimate, fit, proportion_at_power
from drill.session.blocks import MeasurementBlock, goodness_rng, pooled_estimate
from drill.session.options import DEFAULT_PATH_SNR_DB

RULER_POWERS_W = (100.0, 20.0, 5.0)
"""Transmitter powers in W that are marked beside x50, for a path of the usual strength."""
POWERS_W = (20.0, 5.0)
"""Transmitter powers below 100 W for which a result gives the share of calls copied."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PowerShare:
    """Share of calls copied at a power, on a path on which half are copied at 100 W."""

    watts: float
    share: Interval


@dataclass(frozen=True, kw_only=True, slots=True)
class PowerMark:
    """A power on a path of the usual strength: the SNR in dB, and the share of calls copied."""

    watts: float
    snr_db: float
    share: Interval


@dataclass(frozen=True, kw_only=True, slots=True)
class ThresholdChange:
    """Change of x50 in dB from one block to the next.

    smallest_db: smallest change in dB that is more than chance (95 %).
    """

    difference: Interval
    smallest_db: float

    @property
    def shown(self) -> bool:
        """True if the change is more than chance."""
        return abs(self.difference.value) >= self.smallest_db


SMALL_CHANGE_DB = 1.0
"""Change for which a result says how many blocks are needed to show it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ChangeResolution:
    """The changes of a threshold that blocks or checks like the one just finished can show.

    smallest_db: smallest difference in dB between two of them that is more than chance (95 %).
    blocks: how many before and how many after show a true change of SMALL_CHANGE_DB in 80 % of
    cases. includes_days: True if the variation between days is known and included in both figures.
    """

    smallest_db: float
    blocks: int
    includes_days: bool


def change_resolution(sd_db: float, tau_db: float | None = None) -> ChangeResolution:
    """Return the changes that can be shown.

    sd_db: SD of the threshold from one block. tau_db: day-to-day SD, None if it is not known.
    """
    tau = tau_db or 0.0
    return ChangeResolution(
        smallest_db=smallest_detectable_change(sd_db, sd_db, tau=tau),
        blocks=blocks_to_show_change(SMALL_CHANGE_DB, sd_db, tau=tau),
        includes_days=tau_db is not None,
    )


@dataclass(frozen=True, kw_only=True)
class MeasurementResult:
    """Result of a measurement.

    bins: its trials by SNR. powers: empty if half of the calls are never copied. marks: one for
    each of RULER_POWERS_W, where 100 W give DEFAULT_PATH_SNR_DB. resolution: the
    changes of x50 that blocks like this one can show. pooled: estimate from all comparable blocks.
    change: from the last but one of them to the last. Both are None with fewer than two comparable
    blocks.
    """

    estimate: Estimate
    bins: tuple[SnrBin, ...]
    powers: tuple[PowerShare, ...]
    marks: tuple[PowerMark, ...]
    resolution: ChangeResolution
    pooled: Estimate | None = None
    change: ThresholdChange | None = None


@dataclass(frozen=True, kw_only=True)
class AlternativeResult:
    """Threshold of one alternative; estimate: None if it has no trial yet."""

    label: str
    estimate: Estimate | None


@dataclass(frozen=True, kw_only=True, slots=True)
class ThresholdDifference:
    """How much more SNR in dB `label` needs than `reference` for half of the calls.

    smallest_db: smallest difference in dB that is more than chance (95 %).
    """

    label: str
    reference: str
    interval: Interval
    smallest_db: float


@dataclass(frozen=True, kw_only=True)
class ComparisonResult:
    """Result of a comparison; the differences are from the first alternative."""

    alternatives: tuple[AlternativeResult, ...]
    differences: tuple[ThresholdDifference, ...]


def measure_block(
    trials: Sequence[Trial], prior: Prior, comparable: Sequence[MeasurementBlock], *, seed: int
) -> MeasurementResult:
    """Return the result of a measurement.

    trials: those that count, at least one. comparable: comparable blocks, oldest first, this one
    included. seed: for the goodness of fit.
    """
    estimate = fit(trials, prior, goodness_rng(seed))
    pooled = pooled_estimate(comparable) if len(comparable) > 1 else None
    tau_db = pooled.tau_db.value if pooled is not None and pooled.tau_db is not None else None
    return MeasurementResult(
        estimate=estimate,
        bins=tuple(bin_trials(trials, estimate)),
        powers=_shares_by_power(estimate),
        marks=tuple(_power_mark(estimate, watts) for watts in RULER_POWERS_W),
        resolution=change_resolution(estimate.x50_db.sd, tau_db),
        pooled=pooled,
        change=_latest_change(comparable, tau_db or 0.0) if pooled is not None else None,
    )


def _power_mark(estimate: Estimate, watts: float) -> PowerMark:
    snr_db = snr_from_watts(DEFAULT_PATH_SNR_DB, watts)
    return PowerMark(watts=watts, snr_db=snr_db, share=estimate.proportion_correct(snr_db))


def _shares_by_power(estimate: Estimate) -> tuple[PowerShare, ...]:
    shares = []
    for watts in POWERS_W:
        share = proportion_at_power(estimate, snr_from_watts(0.0, watts))
        if share is None:
            return ()
        shares.append(PowerShare(watts=watts, share=share))
    return tuple(shares)


def _latest_change(comparable: Sequence[MeasurementBlock], tau_db: float) -> ThresholdChange:
    before, latest = (block.estimate().x50_db for block in comparable[-2:])
    return ThresholdChange(
        difference=difference_interval(latest, before),
        smallest_db=smallest_detectable_change(before.sd, latest.sd, tau=tau_db),
    )


def compare_alternatives(
    trials: Mapping[str, Sequence[Trial]], prior: Prior, *, seed: int
) -> ComparisonResult:
    """Return the result of a comparison.

    trials: those that count, by the label of their alternative. seed: for the goodness of fit.
    """
    results = tuple(
        AlternativeResult(
            label=label, estimate=fit(own, prior, goodness_rng(seed)) if own else None
        )
        for label, own in trials.items()
    )
    reference = results[0]
    differences = tuple(
        ThresholdDifference(
            label=result.label,
            reference=reference.label,
            interval=difference_interval(result.estimate.x50_db, reference.estimate.x50_db),
            smallest_db=smallest_detectable_change(
                result.estimate.x50_db.sd, reference.estimate.x50_db.sd
            ),
        )
        for result in results[1:]
        if result.estimate is not None and reference.estimate is not None
    )
    return ComparisonResult(alternatives=results, differences=differences)
