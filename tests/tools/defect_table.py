"""How good the review is: takes with known defects, by voices that no setting was made with.

By hand: python -m tests.tools.defect_table [--takes N] [--into DEVELOPERS.md]
"""

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from random import Random

from drill.recogniser import Recogniser, find_recogniser
from drill.sending.models import UNSURE, Prompt
from drill.sending.prompts import KINDS, Station, prompt
from drill.sending.review import review
from phonetics.callsign_mixes import compose_callsign
from phonetics.exchanges import exchange_names, load_exchange
from tests.tools.defects import DEFECTS, Defect, spoilt
from tests.tools.tables import write_table

VOICES = ("gravel", "birch", "anvil", "cellar", "copper", "sparrow")
"""Voices of the roster from low to high, one with an accent."""
FIRST = 1000
"""Number of the first take. Limits and weights were set by other voices and takes below this."""
TAKES = 2
_SPELT = ("call", "answer", "correction")


@dataclass(frozen=True, kw_only=True, slots=True)
class Score:
    """What the review made of takes with one defect.

    told: takes in which it was found. doubted: in which it was not found, but something unsure was
    said. false: faults and advice of other names. doubts: unsure ones besides.
    """

    name: str
    takes: int = 0
    told: int = 0
    doubted: int = 0
    false: tuple[str, ...] = ()
    doubts: int = 0


def prompt_for(defect: Defect, number: int) -> Prompt:
    """Return a prompt that the defect can be made in; number: of the take, from 0."""
    rng = Random(f"faintcall table {number}")
    exchanges = [name for name in exchange_names() if name not in ("five-part", "name-area")]
    at = Station(
        call=compose_callsign(rng, mix="unassigned", strokes=0.0),
        exchange=load_exchange(exchanges[number % len(exchanges)]),
    )
    free = defect.said is DEFECTS["none"].said and not defect.told & {"hurried", "slow"}
    kinds = tuple(KINDS) if free else _SPELT
    return prompt(kinds[number % len(kinds)], at, number)


def score(name: str, voices: Sequence[str], takes: int, listener: Recogniser) -> Score:
    """Return the score of one defect over voices and seeds. Raises: NoVoice, NoRecogniser."""
    from drill.voices.operators import find_operator

    defect = DEFECTS[name]
    told = doubted = doubts = 0
    false: list[str] = []
    for number in range(FIRST, FIRST + takes * len(voices)):
        speaker = find_operator(voices[number % len(voices)])
        found = review(spoilt(prompt_for(defect, number), speaker, defect, number), listener)
        hit = any(one.name in defect.told for one in found.findings)
        unsure = [one for one in found.findings if one.weight == UNSURE]
        told += hit
        doubted += bool(not hit and defect.told and unsure)
        doubts += bool(unsure)
        false += [
            one.name
            for one in found.findings
            if one.name not in defect.told and one.weight != UNSURE
        ]
    return Score(
        name=name,
        takes=takes * len(voices),
        told=told,
        doubted=doubted,
        false=tuple(false),
        doubts=doubts,
    )


def defect_lines(takes: int) -> Iterator[str]:
    """Give the table of the defects, line by line."""
    listener = find_recogniser()
    yield "| defect | takes | found | doubted | takes with a doubt | findings of another name |"
    yield "|---|---|---|---|---|---|"
    for name in DEFECTS:
        one = score(name, VOICES, takes, listener)
        false = ", ".join(sorted(one.false)) or "none"
        told = "-" if not DEFECTS[name].told else f"{one.told}"
        yield f"| {name} | {one.takes} | {told} | {one.doubted} | {one.doubts} | {false} |"


def main() -> None:
    """Print the table, and put it where it belongs."""
    parser = argparse.ArgumentParser(prog="python -m tests.tools.defect_table")
    parser.add_argument("--takes", type=int, default=TAKES, metavar="N", help="of each voice")
    parser.add_argument("--into", metavar="FILE", help="put the table into this file")
    options = parser.parse_args()
    write_table(options.into, "defects", list(defect_lines(options.takes)))


if __name__ == "__main__":
    main()
