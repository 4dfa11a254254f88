"""The sections of a report, the same on every screen.

The sections come in a fixed order. Each has a heading, sentences, and often a chart and a table.
"""

from collections.abc import Sequence
from functools import partial

from drill.core.counting import plural
from drill.psychometrics.bins import SnrBin
from drill.psychometrics.intervals import (
    MIN_TREND_BLOCKS,
    smallest_detectable_change,
)
from drill.psychometrics.wording import describe_flag, describe_goodness_of_fit
from drill.report.charts import (
    curve_chart,
    response_chart,
    sending_chart,
    trend_chart,
)
from drill.report.comparisons import comparison_sections
from drill.report.contacts import contact_sections
from drill.report.error_sections import confusion_section, cost_section
from drill.report.figures import MIN_RESPONSES, ComparableBlocks, Report, ResponseTime
from drill.report.hunts import hunt_sections
from drill.report.section import Section, report_table
from drill.report.section_pictures import (
    curve_picture,
    response_picture,
    sending_picture,
    trend_picture,
)
from drill.report.wording import (
    capitalise_first,
    describe_setup,
    format_db,
    format_percent,
)
from drill.sending.history import SendingSummary
from drill.session.machine import MachineCurve
from drill.session.machine_wording import MACHINE_NOTE, curve_sentences


def report_sections(report: Report) -> list[Section]:
    """Return the sections of a report in order."""
    sections: list[Section] = []
    for number, group in enumerate(report.groups, 1):
        sections += [_trend_section(group, number), _curve_section(group, number)]
    if not report.groups:
        sections.append(
            Section(
                name="thresholds",
                heading="Thresholds",
                sentences=(
                    "There is no measurement yet, so there is no threshold and no trend. A "
                    "measurement takes about eight minutes.",
                ),
                missing="thresholds (no measurement)",
            )
        )
    sections += comparison_sections(report.comparisons)
    sections.append(confusion_section(report.confusion))
    sections += [cost_section(kind, costs) for kind, costs in report.costs.items()]
    sections.append(_response_section(report.response_times))
    if report.sending is not None:
        sections.append(_sending_section(report.sending))
    if report.contacts is not None:
        sections += contact_sections(report.contacts)
    if report.hunts is not None:
        sections += hunt_sections(report.hunts)
    return sections


def _trend_section(group: ComparableBlocks, number: int) -> Section:
    """Return the thresholds of comparable blocks over time."""
    heading = f"Measurement blocks: {describe_setup(group)}"
    pooled = group.pooled
    thresholds = (
        f"x50 is {format_db(pooled.x50_db)} dB and x80 {format_db(pooled.x80_db)} dB SNR in 3 kHz "
        f"(95 % intervals), from {plural(pooled.n, 'call')} in "
        f"{plural(pooled.blocks, 'block')}."
    )
    rows = [
        (
            block.started.astimezone().strftime("%Y-%m-%d %H:%M"),
            f"{estimate.n}",
            format_db(estimate.x50_db),
            format_db(estimate.x80_db),
            f"{100 * estimate.slope_per_db.value:.0f}",
        )
        for block, estimate in zip(group.blocks, group.estimates, strict=True)
    ]
    notes = [f"Note: {describe_flag(flag)}." for flag in pooled.flags]
    return Section(
        name=f"trend-{number}",
        heading=heading,
        sentences=(_trend_sentence(group), thresholds, *notes),
        table=report_table(
            heading, ("started", "calls", "x50, dB", "x80, dB", "slope, % per dB"), rows
        ),
        picture=trend_picture(
            [block.started for block in group.blocks],
            [estimate.x50_db for estimate in group.estimates],
        ),
        draw_chart=partial(trend_chart, group),
    )


def _curve_section(group: ComparableBlocks, number: int) -> Section:
    """Return the pooled curve of comparable blocks beside the data, and the machine's curve."""
    heading = f"Curve: {describe_setup(group)}"
    pooled = group.pooled
    machine = group.machine
    head = ["SNR in 3 kHz, dB", "copied", "share, % (95 %)", "curve, %"]
    rows = [
        (
            f"{snr_bin.low_db:+.1f} to {snr_bin.high_db:+.1f}",
            f"{snr_bin.right} of {snr_bin.n}",
            format_percent(snr_bin.proportion),
            f"{100 * snr_bin.expected:.0f}",
            *([] if machine is None else [_copied_by_machine(machine, snr_bin)]),
        )
        for snr_bin in group.bins
    ]
    if machine is not None:
        head.append("machine, not a human score")
    return Section(
        name=f"curve-{number}",
        heading=heading,
        sentences=(
            f"The share of calls copied rises by {100 * pooled.slope_per_db.value:.0f} % per dB "
            f"around x50. {capitalise_first(describe_goodness_of_fit(pooled.goodness))}.",
            *(() if machine is None else (*curve_sentences(machine), MACHINE_NOTE)),
        ),
        table=report_table(heading, head, rows),
        picture=curve_picture(pooled, group.bins, machine),
        draw_chart=partial(curve_chart, group),
    )


def _copied_by_machine(machine: MachineCurve, snr_bin: SnrBin) -> str:
    """Return how many of the items of a bin the machine copied."""
    trials = [t for t in machine.trials if snr_bin.low_db <= t.snr_db < snr_bin.high_db]
    return f"{sum(trial.right for trial in trials)} of {len(trials)}"


def _trend_sentence(group: ComparableBlocks) -> str:
    """Return whether the threshold has changed."""
    if group.trend is not None:
        week = group.trend.per_week_db
        if week.low <= 0 <= week.high:
            verdict = "no change is shown"
        else:
            verdict = f"you need {'less' if week.value < 0 else 'more'} SNR as time goes on"
        return (
            f"Over {group.trend.blocks} blocks x50 changes by {week.value:+.2f} dB per week "
            f"({week.low:+.2f} to {week.high:+.2f}): {verdict}. The smallest trend that these "
            f"blocks could show is {group.trend.smallest_per_week_db:.2f} dB per week."
        )
    if len(group.blocks) > 1:
        first, last = group.estimates[0].x50_db, group.estimates[-1].x50_db
        smallest_db = smallest_detectable_change(first.sd, last.sd)
        change_db = last.value - first.value
        is_chance = abs(change_db) < smallest_db
        verdict = "no change is shown" if is_chance else "the change is unlikely to be chance"
        return (
            f"From the first to the last block x50 changed by {change_db:+.1f} dB. Changes below "
            f"{smallest_db:.1f} dB can be due to chance: {verdict}. A trend needs "
            f"{MIN_TREND_BLOCKS} blocks."
        )
    return "There is only one block so far; a change can be shown after the second block."


def _response_section(response_times: Sequence[ResponseTime]) -> Section:
    """Return the response times by SNR."""
    heading = "Response time"
    if not response_times:
        sentence = "There are too few right answers for response times."
        return Section(
            name="response",
            heading=heading,
            sentences=(sentence,),
            missing=f"response times (fewer than {MIN_RESPONSES} right answers at every SNR)",
        )
    highest = response_times[-1]
    median = highest.median_s
    rows = [
        (
            f"{response.low_db:+.0f} to {response.high_db:+.0f}",
            f"{response.n}",
            f"{response.median_s.value:.1f} "
            f"({response.median_s.low:.1f} to {response.median_s.high:.1f})",
        )
        for response in response_times
    ]
    return Section(
        name="response",
        heading=heading,
        sentences=(
            f"At {highest.low_db:+.0f} to {highest.high_db:+.0f} dB the median time to a right "
            f"answer is {median.value:.1f} s (95 %: {median.low:.1f} to {median.high:.1f}).",
        ),
        table=report_table(
            heading, ("SNR in 3 kHz, dB", "right answers", "median, s (95 %)"), rows
        ),
        picture=response_picture(response_times),
        draw_chart=partial(response_chart, response_times),
    )


def _sending_section(sending: SendingSummary) -> Section:
    """Return the summary of the trainee's own sending."""
    heading = "Your own sending"
    finding = "No fault was found."
    if sending.finding_counts:
        name, takes = sending.finding_counts[0]
        finding = f"The most frequent finding: {name}, in {plural(takes, 'take')}."
    rows = [
        (day, f"{takes}", f"{right}", f"{pace:.0f}" if pace else "")
        for day, takes, right, pace in sending.days
    ]
    return Section(
        name="spoken",
        heading=heading,
        sentences=(
            f"Said correctly to the end: {sending.right} of {plural(sending.takes, 'take')}. "
            f"{finding}",
        ),
        table=report_table(heading, ("day", "takes", "said correctly", "words per minute"), rows),
        picture=sending_picture(sending),
        draw_chart=partial(sending_chart, sending),
    )
