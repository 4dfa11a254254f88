"""How reliably the review finds known defects in takes by voices that were not used for tuning.

Run by hand:
python -m tests.tools.defect_table [--takes N] [--kept-out] [--into tests/measured/defects.md]
"""

import argparse
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from random import Random

from drill.recogniser import Recogniser, find_recogniser
from drill.sending.models import UNSURE, Prompt
from drill.sending.own_station import OwnStation
from drill.sending.prompts import PROMPT_KINDS, compose_prompt
from drill.sending.review import review_take
from drill.voices.operators import find_operator
from drill.voices.people.roster import STUDIO_GROUP, roster_entries
from phonetics.callsign_mixes import compose_callsign
from phonetics.exchanges import exchange_names, load_exchange
from tests.tools.defects import DEFECTS, Defect, spoil_take
from tests.tools.recogniser_sweep.speakers import STUDIO_TEST_VOICES
from tests.tools.tables import write_table

TEST_OPERATORS = ("gravel", "birch", "anvil", "cellar", "copper", "sparrow")
"""Operators of the roster from low to high pitch, one with an accent."""
FIRST_TAKE = 1000
"""Limits and weights were tuned with other operators and with takes of lower numbers."""
TAKES_PER_OPERATOR = 2
SPELT_PROMPTS = ("call", "answer", "correction")
"""Kinds of prompts with a call, whose single characters a defect can change."""
KEPT_OUT_DEFECTS = ("none", "wrong word", "missing word", "wrong order")
UNUSED_EXCHANGES = ("five-part", "name-area")


@dataclass(frozen=True, kw_only=True, slots=True)
class DefectResult:
    """Results of reviews of takes with one defect.

    found: takes in which the review reports the defect. doubted: takes in which it reports only
    something unsure. other_findings: kinds of all other faults and advice. with_doubt: takes with
    anything unsure.
    """

    name: str
    takes: int
    found: int
    doubted: int
    other_findings: tuple[str, ...]
    with_doubt: int


def prompt_for_defect(defect: Defect, number: int) -> Prompt:
    """Return a prompt in which the defect is possible. number: of the take, from 0."""
    rng = Random(f"faintcall table {number}")
    exchanges = [name for name in exchange_names() if name not in UNUSED_EXCHANGES]
    station = OwnStation(
        call=compose_callsign(rng, mix="unassigned", strokes=0.0),
        exchange=load_exchange(exchanges[number % len(exchanges)]),
    )
    keeps_words = defect.change_words is DEFECTS["none"].change_words
    keeps_pace = not defect.findings & {"hurried", "slow"}
    kinds = tuple(PROMPT_KINDS) if keeps_words and keeps_pace else SPELT_PROMPTS
    return compose_prompt(kinds[number % len(kinds)], station, number)


def measure_defect(
    name: str, operators: Sequence[str], takes_per_operator: int, recogniser: Recogniser
) -> DefectResult:
    """Return the result of one defect. Raises: NoVoice, NoRecogniser."""
    defect = DEFECTS[name]
    takes = takes_per_operator * len(operators)
    found = doubted = with_doubt = 0
    other_findings: list[str] = []
    for number in range(FIRST_TAKE, FIRST_TAKE + takes):
        operator = find_operator(operators[number % len(operators)])
        take = spoil_take(prompt_for_defect(defect, number), operator, defect, number)
        review = review_take(take, recogniser)
        is_found = any(finding.kind in defect.findings for finding in review.findings)
        has_doubt = any(finding.severity == UNSURE for finding in review.findings)
        found += is_found
        doubted += bool(not is_found and defect.findings and has_doubt)
        with_doubt += has_doubt
        other_findings += [
            finding.kind
            for finding in review.findings
            if finding.kind not in defect.findings and finding.severity != UNSURE
        ]
    return DefectResult(
        name=name,
        takes=takes,
        found=found,
        doubted=doubted,
        other_findings=tuple(sorted(other_findings)),
        with_doubt=with_doubt,
    )


def kept_out_operators() -> tuple[str, ...]:
    """Return the studio operators on whose voices the recogniser `own` was not trained."""
    return tuple(
        row.operator.name
        for row in roster_entries(STUDIO_GROUP)
        if row.operator.voice in STUDIO_TEST_VOICES
    )


def table_lines(
    takes_per_operator: int, operators: Sequence[str], defects: Iterable[str] = tuple(DEFECTS)
) -> Iterator[str]:
    """Yield the table of defects line by line."""
    recogniser = find_recogniser()
    yield "| defect | takes | found | doubted | takes with a doubt | other findings |"
    yield "|---|---|---|---|---|---|"
    for name in defects:
        result = measure_defect(name, operators, takes_per_operator, recogniser)
        found = f"{result.found}" if DEFECTS[name].findings else "-"
        other = ", ".join(result.other_findings) or "none"
        yield (
            f"| {name} | {result.takes} | {found} | {result.doubted} | {result.with_doubt} "
            f"| {other} |"
        )


def main() -> None:
    """Print the table, and write it into a file if one is given."""
    parser = argparse.ArgumentParser(prog="python -m tests.tools.defect_table")
    parser.add_argument(
        "--takes", type=int, default=TAKES_PER_OPERATOR, metavar="N", help="takes per operator"
    )
    parser.add_argument("--kept-out", action="store_true", help="measure the second table instead")
    parser.add_argument("--into", metavar="FILE", help="replace the table in this file")
    options = parser.parse_args()
    if options.kept_out:
        lines = table_lines(options.takes, kept_out_operators(), KEPT_OUT_DEFECTS)
        write_table(options.into, "kept-out", list(lines))
    else:
        write_table(options.into, "defects", list(table_lines(options.takes, TEST_OPERATORS)))


if __name__ == "__main__":
    main()
