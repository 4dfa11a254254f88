"""The sections of a report about errors: confusions, and the cost in dB of each kind of label."""

from collections.abc import Sequence
from functools import partial

from drill.psychometrics.intervals import wilson_interval
from drill.psychometrics.label_costs import MIN_OBSERVATIONS, LabelCost
from drill.report.charts import confusion_chart, cost_chart
from drill.report.confusion import ConfusionMatrix
from drill.report.section import Section, report_table
from drill.report.section_pictures import confusion_picture, cost_picture
from drill.report.wording import LABEL_KIND_NAMES, format_db

_TOO_FEW = "too few answers so far"


def confusion_section(confusion: ConfusionMatrix) -> Section:
    """Return the most frequent errors."""
    heading = "Confusions"
    errors = confusion.most_frequent_errors()
    if not errors:
        return Section(
            name="confusion",
            heading=heading,
            sentences=("There are no errors to show yet.",),
            missing="confusions (no errors)",
        )
    sent, typed, count, total = errors[0]
    if not sent:
        error = f"{typed} typed in addition, {count} times"
    else:
        error = f"{sent} {f'typed as {typed}' if typed else 'left out'}, {count} of {total} times"
    rows = [
        (
            sent or "nothing",
            typed or "nothing",
            f"{n} of {times_sent}" if sent else f"{n}",
            _error_share(n, times_sent) if sent else "",
            "" if times_sent >= MIN_OBSERVATIONS else _TOO_FEW,
        )
        for sent, typed, n, times_sent in errors
    ]
    return Section(
        name="confusion",
        heading=heading,
        sentences=(
            f"The most frequent error: {error}. Fields with two neighbouring characters swapped: "
            f"{confusion.order_errors}; these are slips of memory and are not counted here.",
        ),
        table=report_table(
            heading, ("sent", "typed", "how often", "share, % (95 %)", "note"), rows
        ),
        picture=confusion_picture(confusion),
        draw_chart=partial(confusion_chart, confusion),
    )


def _error_share(count: int, times_sent: int) -> str:
    """Return the interval of an error's share in per cent."""
    share = wilson_interval(count, times_sent)
    return f"{100 * share.low:.0f} to {100 * share.high:.0f}"


def cost_section(kind: str, costs: Sequence[tuple[str, LabelCost]]) -> Section:
    """Return the costs of all labels of a kind; costs: highest first."""
    label_kind = LABEL_KIND_NAMES[kind]
    heading = f"Cost in dB by {label_kind}"
    known = [(label, cost) for label, cost in costs if cost.has_enough_data]
    rows = [
        (label, f"{cost.n}", format_db(cost.cost_db) if cost.has_enough_data else _TOO_FEW)
        for label, cost in costs
    ]
    if known:
        label, cost = known[0]
        sentence = (
            f"Highest cost: {label}, {format_db(cost.cost_db)} dB more than the average "
            f"{label_kind} (shrunk towards 0, n {cost.n}). {len(costs) - len(known)} of "
            f"{len(costs)} have too few answers."
        )
    else:
        sentence = (
            f"There are too few answers: a figure for a {label_kind} needs {MIN_OBSERVATIONS} "
            "answers with it."
        )
    return Section(
        name=f"cost-{kind}",
        heading=heading,
        sentences=(sentence,),
        table=report_table(heading, (label_kind, "n", "cost, dB (95 %)"), rows),
        picture=cost_picture(label_kind, costs),
        draw_chart=partial(cost_chart, label_kind, costs) if known else None,
        missing="" if len(known) > 1 else _too_few_of(label_kind, costs),
    )


def _too_few_of(label_kind: str, costs: Sequence[tuple[str, LabelCost]]) -> str:
    """Return what a kind of label lacks to be compared."""
    if len(costs) == 1:
        return f"{label_kind} (only one so far)"
    most = max((cost.n for _, cost in costs), default=0)
    if most >= MIN_OBSERVATIONS:
        return f"{label_kind} (only one with {MIN_OBSERVATIONS} answers)"
    return f"{label_kind} ({most} of {MIN_OBSERVATIONS} answers)"
