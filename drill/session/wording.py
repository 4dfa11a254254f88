"""Sentences and text blocks about sessions, the same in the terminal and on the page."""

from collections.abc import Iterable, Sequence
from functools import lru_cache

from drill.core.conditions import Conditions
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.text_blocks import Passage, Table
from drill.psychometrics.bins import SnrBin
from drill.psychometrics.character_threshold import CHARACTER_TARGET, CharacterThreshold
from drill.psychometrics.checks import Flag
from drill.psychometrics.intervals import Interval
from drill.psychometrics.posterior import Estimate
from drill.psychometrics.wording import describe_flag, describe_goodness_of_fit
from drill.radio.presets import load_preset
from drill.session.attempts import SessionTally
from drill.session.options import DEFAULT_PATH_SNR_DB
from drill.session.results import (
    SMALL_CHANGE_DB,
    ChangeResolution,
    ComparisonResult,
    MeasurementResult,
    PowerMark,
    PowerShare,
    ThresholdChange,
    ThresholdDifference,
)


def interval_db(interval: Interval) -> str:
    """Return a value in dB with its 95 % interval."""
    return f"{interval.value:+.1f} dB (95 %: {interval.low:+.1f} to {interval.high:+.1f})"


def _percent(interval: Interval) -> str:
    return f"{100 * interval.value:.0f} % ({100 * interval.low:.0f} to {100 * interval.high:.0f})"


def field_label(name: str, optional_if: str) -> str:
    """Return the name of a field, with the value that need not be typed ("" for none)."""
    return f"{name} (may be left out if {optional_if})" if optional_if else name


def conditions_label(conditions: Conditions) -> str:
    """Return the name of the conditions, and their fading if it was chosen separately."""
    fading = conditions.fading.name
    if not conditions.name:
        return f"own, {fading}"
    usual_fading = _fading_of_preset(conditions.name)
    return conditions.name if usual_fading in ("", fading) else f"{conditions.name}, {fading}"


@lru_cache(maxsize=64)
def _fading_of_preset(name: str) -> str:
    """Return the name of the fading of a bundled preset, "" for a preset of the user's own."""
    try:
        return load_preset(name).conditions.fading.name
    except UserError:
        return ""


def score_sentence(tally: SessionTally, count: int) -> str:
    """Return the score so far; count: items of the session."""
    if not tally.answered:
        return "No answer yet."
    later = tally.right - tally.right_at_first_hearing
    after_repetition = f", {later} after a replay" if later else ""
    return (
        f"{tally.right_at_first_hearing} of {tally.answered} right on first hearing"
        f"{after_repetition}, {tally.characters_right} of "
        f"{plural(tally.characters_sent, 'character')} right; "
        f"{plural(count - tally.answered, 'item')} to go."
    )


def _notes(flags: Iterable[Flag], about: str = "") -> tuple[str, ...]:
    """Return the caveats about an estimate; about: label of the quantity estimated, "" for none."""
    head = f"Note on {about}" if about else "Note"
    return tuple(f"{head}: {describe_flag(flag)}." for flag in flags)


def measurement_result_blocks(result: MeasurementResult | None) -> list[Passage]:
    """Return the text of a result; None if no trial counts."""
    if result is None:
        sentence = "No call counts, because every call was played more than once."
        return [Passage(title="This block", sentences=(sentence,))]
    blocks = [
        Passage(
            title="This block",
            figures=_estimate_lines(result.estimate),
            table=_bins_table(result.bins),
            sentences=(_power_sentence(result.powers), resolution_sentence(result.resolution)),
        )
    ]
    if result.pooled is not None and result.change is not None:
        blocks.append(
            Passage(
                title=f"All {result.pooled.blocks} comparable blocks together",
                figures=_estimate_lines(result.pooled),
                sentences=(_change_sentence(result.change),),
            )
        )
    return blocks


def _estimate_lines(estimate: Estimate) -> tuple[str, ...]:
    slope = estimate.slope_per_db
    goodness = describe_goodness_of_fit(estimate.goodness)
    return (
        f"x50  {interval_db(estimate.x50_db)}: SNR in 3 kHz at which half of the calls are copied",
        f"x80  {interval_db(estimate.x80_db)}: SNR at which 80 % are copied",
        f"slope {100 * slope.value:.0f} % per dB at x50 (95 %: {100 * slope.low:.0f} to "
        f"{100 * slope.high:.0f}); {estimate.right} of {estimate.n} copied, "
        f"{plural(estimate.blocks, 'block')}",
        f"{goodness[0].upper()}{goodness[1:]}.",
        *_notes(estimate.flags),
    )


def _power_sentence(powers: Sequence[PowerShare]) -> str:
    if not powers:
        return "Power: no figure in watts, because half of the calls are never copied."
    shares = [f"{_percent(power.share)} at {power.watts:g} W" for power in powers]
    return (
        "Power: on a path where you copy half of the calls at 100 W, you would copy "
        f"{' and '.join(shares)}."
    )


def power_marks_sentence(marks: Sequence[PowerMark]) -> str:
    """Return the share of calls copied at each power on a path of the usual strength."""
    shares = ", ".join(
        f"{100 * mark.share.value:.0f} ({100 * mark.share.low:.0f} to {100 * mark.share.high:.0f}) "
        f"at {mark.watts:g} W"
        for mark in marks
    )
    return (
        f"Suppose a station's 100 W reach you at {DEFAULT_PATH_SNR_DB:+g} dB SNR. Of 100 calls on "
        f"this path you would copy {shares}."
    )


def _bins_table(bins: Sequence[SnrBin]) -> Table:
    """Return the calls copied at each SNR, beside the fitted curve."""
    rows = tuple(
        (
            f"{row.low_db:+.1f} to {row.high_db:+.1f}",
            f"{row.right:3} of {row.n:2}",
            f"{100 * row.proportion.value:.0f} % "
            f"({100 * row.proportion.low:.0f}-{100 * row.proportion.high:.0f})",
            f"{100 * row.expected:4.0f} %",
        )
        for row in bins
    )
    return Table(
        caption="Calls copied by SNR",
        head=("SNR, 3 kHz", "copied", "share, 95 %", "curve"),
        rows=rows,
    )


def _change_sentence(change: ThresholdChange) -> str:
    verdict = "a change" if change.shown else "no change shown"
    return (
        f"Compared with the block before, x50 changed by {interval_db(change.difference)}; "
        f"changes below {change.smallest_db:.1f} dB can be due to chance: {verdict}."
    )


def resolution_sentence(resolution: ChangeResolution) -> str:
    """Return what change two blocks can show, and how many blocks a small change needs."""
    days = (
        "the variation between days is included"
        if resolution.includes_days
        else "the variation between days is not known yet and would increase both figures"
    )
    return (
        f"Two results like this one can show a change of {resolution.smallest_db:.1f} dB or more; "
        f"a smaller one may be due to chance. Showing a change of {SMALL_CHANGE_DB:g} dB in 8 of "
        f"10 cases takes {resolution.blocks} results before it and {resolution.blocks} after it; "
        f"{days}."
    )


def character_threshold_lines(threshold: CharacterThreshold) -> tuple[str, ...]:
    """Return the result of a quick check."""
    return (
        f"character threshold {interval_db(threshold.threshold_db)}: SNR in 3 kHz at which "
        f"{100 * CHARACTER_TARGET:.0f} % of the characters are copied; "
        f"{plural(threshold.characters, 'character')} in {plural(threshold.items, 'call')}",
        *_notes(threshold.flags),
        "This threshold is for single characters. Do not compare it with x50, which is for whole "
        "calls.",
    )


def comparison_block(result: ComparisonResult) -> Passage:
    """Return the threshold of each alternative and its difference from the first one."""
    rows, notes = [], list[str]()
    for alternative in result.alternatives:
        estimate = alternative.estimate
        if estimate is None:
            rows.append((alternative.label, "no items yet", ""))
            continue
        copied = f"{estimate.right} of {estimate.n} copied"
        rows.append((alternative.label, interval_db(estimate.x50_db), copied))
        notes += _notes(estimate.flags, about=alternative.label)
    return Passage(
        table=Table(
            caption="Each alternative alone",
            head=("", "x50, SNR in 3 kHz", "calls"),
            rows=tuple(rows),
        ),
        sentences=(*notes, *map(_difference_sentence, result.differences)),
    )


def difference_verdict(difference: ThresholdDifference) -> str:
    """Return in a few words which alternative needs more SNR."""
    interval = difference.interval
    names = f"{difference.label} and {difference.reference}"
    if interval.low <= 0 <= interval.high:
        return f"No difference is shown between {names}."
    verdict = "harder" if interval.value > 0 else "easier"
    return (
        f"{difference.label} is {abs(interval.value):.1f} dB {verdict} than {difference.reference}."
    )


def _difference_sentence(difference: ThresholdDifference) -> str:
    interval = difference.interval
    if interval.low <= 0 <= interval.high:
        verdict = (
            f"no difference shown (these items can show {difference.smallest_db:.1f} dB or more)"
        )
    else:
        verdict = "harder" if interval.value > 0 else "easier"
    return (
        f"{difference.label} compared with {difference.reference}: x50 differs by "
        f"{interval_db(interval)}: {verdict}."
    )
