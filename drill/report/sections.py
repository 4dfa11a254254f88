"""The report as one self-contained HTML page, with PNG, CSV and JSON files beside it."""

import csv
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drill import __version__
from drill.core.errors import UserError
from drill.psychometrics.intervals import smallest_detectable_change, wilson
from drill.psychometrics.label_costs import ENOUGH
from drill.report import charts
from drill.report.figures import Kind, Report
from drill.sending.history import Tally

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PAGE = "report.html"
WORDS = {
    "character": "character",
    "word": "word, as it was said",
    "style": "kind of word",
    "voice": "voice",
    "fading": "fading preset",
    "conditions": "set of conditions",
    "position": "place in the call or exchange",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Part:
    """One part of the page: a heading, sentences, a chart where there is one, a table."""

    name: str
    heading: str
    sentences: tuple[str, ...]
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    chart: "Figure | None" = None


def write(report: Report, folder: Path) -> Path:
    """Write page and files into a folder; return the page's path.

    Raises: UserError where the folder cannot be written.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    made = parts(report)
    pictures = {
        part.name: Markup(charts.svg(part.chart, part.sentences[0])) for part in made if part.chart
    }
    environment = Environment(
        loader=PackageLoader("drill.report"), autoescape=True, undefined=StrictUndefined
    )
    page = environment.get_template(PAGE).render(
        parts=made, pictures=pictures, report=report, version=__version__
    )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / PAGE).write_text(page, "utf-8")
        for part in made:
            if part.chart:
                (folder / f"{part.name}.png").write_bytes(charts.png(part.chart))
            if part.rows:
                _table(folder / f"{part.name}.csv", part)
        text = json.dumps(data(report, made), indent=1, default=str)
        (folder / "report.json").write_text(text + "\n", "utf-8")
    except OSError as error:
        raise UserError(f"{folder} cannot be written: {error.strerror}") from None
    return folder / PAGE


def _table(path: Path, part: Part) -> None:
    with path.open("w", newline="", encoding="utf-8") as out:
        writer = csv.writer(out)
        writer.writerow(part.head)
        writer.writerows(part.rows)


def data(report: Report, made: Sequence[Part]) -> dict[str, Any]:
    """Return the report as plain data."""
    return {
        "version": __version__,
        "made": report.made.isoformat(),
        "answered": report.answered,
        "sittings": report.sittings,
        "hours": round(report.hours, 3),
        "kinds": [
            {
                "title": kind.title,
                "blocks": [
                    {"started": block.started.isoformat(), "n": e.n, **_thresholds(e)}
                    for block, e in zip(kind.blocks, kind.estimates, strict=True)
                ],
                "together": {"n": kind.together.n, **_thresholds(kind.together)},
                "trend": None if kind.trend is None else asdict(kind.trend),
            }
            for kind in report.kinds
        ],
        "confusion": [
            {"sent": a, "typed": b, "n": n} for (a, b), n in sorted(report.confusion.counts.items())
        ],
        "order_errors": report.confusion.orders,
        "costs": {
            kind: [
                {"label": label, "n": o.n, "enough": o.enough, "cost_db": asdict(o.cost_db)}
                for label, o in found
            ]
            for kind, found in report.costs.items()
        },
        "responses": [asdict(response) for response in report.responses],
        "spoken": None if report.spoken is None else asdict(report.spoken),
        "sentences": {part.name: list(part.sentences) for part in made},
    }


def _thresholds(estimate: Any) -> dict[str, Any]:
    return {name: asdict(getattr(estimate, name)) for name in ("x50_db", "x80_db", "slope_per_db")}


def parts(report: Report) -> list[Part]:
    """Return the parts of the page in their order."""
    made: list[Part] = []
    for number, kind in enumerate(report.kinds, 1):
        made += kind_parts(kind, f"{number}")
    if not report.kinds:
        made.append(
            Part(
                name="thresholds",
                heading="Thresholds",
                sentences=(
                    "There is no measuring block yet, and so no threshold and no trend. "
                    "`faintcall measure` makes one in about eight minutes.",
                ),
            )
        )
    made.append(confusion_part(report))
    made += [cost_part(kind, report) for kind in report.costs]
    made.append(response_part(report))
    if report.spoken is not None:
        made.append(spoken_part(report.spoken))
    return made


def db(quantity: Any) -> str:
    """Return a figure in dB with its interval."""
    return f"{quantity.value:+z.1f} ({quantity.low:+z.1f} to {quantity.high:+z.1f})"


def sentence_case(words: str) -> str:
    """Return words with a capital letter at their beginning."""
    return words[:1].upper() + words[1:]


def percent(share: Any) -> str:
    """Return a share in per cent with its interval."""
    return f"{100 * share.value:.0f} ({100 * share.low:.0f} to {100 * share.high:.0f})"


def kind_parts(kind: Kind, mark: str) -> list[Part]:
    """Return trend and curve of one kind of measuring block."""
    together = kind.together
    flags = tuple(f"Mind: {flag.words}." for flag in together.flags)
    thresholds = (
        f"x50 is {db(together.x50_db)} dB and x80 {db(together.x80_db)} dB SNR in 3 kHz "
        f"(95 % intervals), from {together.n} calls in {together.blocks} block"
        f"{'s' if together.blocks > 1 else ''}.",
        *flags,
    )
    rows = tuple(
        (
            block.started.astimezone().strftime("%Y-%m-%d %H:%M"),
            f"{e.n}",
            db(e.x50_db),
            db(e.x80_db),
            f"{100 * e.slope_per_db.value:.0f}",
        )
        for block, e in zip(kind.blocks, kind.estimates, strict=True)
    )
    curve_rows = tuple(
        (
            f"{row.low_db:+.1f} to {row.high_db:+.1f}",
            f"{row.right} of {row.n}",
            percent(row.share),
            f"{100 * row.curve:.0f}",
        )
        for row in kind.curve
    )
    return [
        Part(
            name=f"trend-{mark}",
            heading=f"Measuring blocks: {kind.title}",
            sentences=(trend_sentence(kind), *thresholds),
            head=("begun", "calls", "x50, dB", "x80, dB", "slope, % a dB"),
            rows=rows,
            chart=charts.trend_chart(kind),
        ),
        Part(
            name=f"curve-{mark}",
            heading=f"Curve: {kind.title}",
            sentences=(
                f"The share of calls copied rises by {100 * together.slope_per_db.value:.0f} % a "
                f"dB around x50. {sentence_case(together.goodness.words)}.",
            ),
            head=("SNR in 3 kHz, dB", "copied", "share, % (95 %)", "curve, %"),
            rows=curve_rows,
            chart=charts.curve_chart(kind),
        ),
    ]


def trend_sentence(kind: Kind) -> str:
    """Return what the blocks say about change."""
    if kind.trend is not None:
        week = kind.trend.per_week_db
        verdict = (
            "no change is shown"
            if week.low <= 0 <= week.high
            else "fewer dB are needed with time"
            if week.value < 0
            else "more dB are needed with time"
        )
        return (
            f"Over {kind.trend.blocks} blocks x50 moves by {week.value:+.2f} dB a week "
            f"({week.low:+.2f} to {week.high:+.2f}): {verdict}. The smallest trend that these "
            f"blocks could have shown is {kind.trend.smallest_per_week_db:.2f} dB a week."
        )
    if len(kind.blocks) > 1:
        first, last = kind.estimates[0].x50_db, kind.estimates[-1].x50_db
        least = smallest_detectable_change(first.sd, last.sd)
        change = last.value - first.value
        verdict = "no change is shown" if abs(change) < least else "more than chance"
        return (
            f"From the first to the last block x50 moved by {change:+.1f} dB; less than "
            f"{least:.1f} dB is no more than chance: {verdict}. A trend is drawn from four blocks "
            "on."
        )
    return "One block so far; a change can be told from the second one on."


def confusion_part(report: Report) -> Part:
    """Return the confusions."""
    confusion = report.confusion
    worst = confusion.worst()
    if not worst:
        return Part(
            name="confusion", heading="Confusions", sentences=("No mistake to tell of yet.",)
        )
    rows = []
    for sent, typed, n, of in worst:
        share = wilson(n, of) if sent and of >= n else None
        rows.append(
            (
                sent or "nothing",
                typed or "nothing",
                f"{n} of {of}" if sent else f"{n}",
                f"{100 * share.low:.0f} to {100 * share.high:.0f}" if share else "",
                "" if of >= ENOUGH else "not enough heard yet",
            )
        )
    a, b, n, of = worst[0]
    told = f"{a} typed as {b}" if a and b else f"{a or b} {'left out' if a else 'typed in excess'}"
    return Part(
        name="confusion",
        heading="Confusions",
        sentences=(
            f"The commonest mistake: {told}, {n} times of {of}. Neighbours the wrong way round: "
            f"{confusion.orders}; these are slips of memory and are not counted here.",
        ),
        head=("sent", "typed", "how often", "share, % (95 %)", "note"),
        rows=tuple(rows),
        chart=charts.confusion_chart(confusion),
    )


def cost_part(kind: str, report: Report) -> Part:
    """Return what each label of a kind costs."""
    found = report.costs[kind]
    enough = [entry for entry in found if entry[1].enough]
    rows = tuple(
        (
            label,
            f"{offset.n}",
            db(offset.cost_db) if offset.enough else "not enough heard yet",
        )
        for label, offset in found
    )
    if not enough:
        sentence = (
            f"Not enough heard yet: a figure for a {WORDS[kind]} needs {ENOUGH} answers with it."
        )
    else:
        label, dear = enough[0]
        sentence = (
            f"Dearest {WORDS[kind]}: {label}, {db(dear.cost_db)} dB more than the average "
            f"(shrunk towards 0, n {dear.n}); {len(found) - len(enough)} of {len(found)} were not "
            "heard often enough."
        )
    return Part(
        name=f"cost-{kind}",
        heading=f"Cost in dB by {WORDS[kind]}",
        sentences=(sentence,),
        head=(WORDS[kind], "n", "cost, dB (95 %)"),
        rows=rows,
        chart=charts.cost_chart(WORDS[kind], found) if enough else None,
    )


def spoken_part(found: Tally) -> Part:
    """Return what the takes of the trainee's own sending tell."""
    common = "No fault was found."
    if found.found:
        common = f"The commonest finding: {found.found[0][0]}, in {found.found[0][1]} takes."
    return Part(
        name="spoken",
        heading="Your own sending",
        sentences=(f"{found.right} of {found.takes} takes were said rightly to the end. {common}",),
        head=("day", "takes", "said rightly", "words a minute"),
        rows=tuple(
            (day, f"{takes}", f"{right}", f"{pace:.0f}" if pace else "")
            for day, takes, right, pace in found.days
        ),
        chart=charts.spoken_chart(found),
    )


def response_part(report: Report) -> Part:
    """Return response times."""
    if not report.responses:
        return Part(
            name="response",
            heading="Response time",
            sentences=("Not enough right answers yet to tell of response times.",),
        )
    last = report.responses[-1]
    return Part(
        name="response",
        heading="Response time",
        sentences=(
            f"At {last.low_db:+.0f} to {last.high_db:+.0f} dB a right answer comes after "
            f"{last.median_s.value:.1f} s (median; 95 %: {last.median_s.low:.1f} to "
            f"{last.median_s.high:.1f}).",
        ),
        head=("SNR in 3 kHz, dB", "right answers", "median, s (95 %)"),
        rows=tuple(
            (
                f"{r.low_db:+.0f} to {r.high_db:+.0f}",
                f"{r.n}",
                f"{r.median_s.value:.1f} ({r.median_s.low:.1f} to {r.median_s.high:.1f})",
            )
            for r in report.responses
        ),
        chart=charts.response_chart(report.responses),
    )
