"""Calls and holders compared with an independent copy of ITU Radio Regulations Appendix 42.

The library callsign-regex (module itu_appendix42) contains the ITU's export of 2024-12-09 and a
regular expression made from it. The expression omits the half series 3D and SS, so these are
checked against its table. Counts of series: computed from the same export, and agreeing with RR
19.50.1 for the single characters.
"""

import gc
import itertools
import re
import warnings
from collections import Counter
from pathlib import Path
from random import Random
from string import ascii_uppercase, digits

import pytest
from callsign_regex.callsign_regex import ItuAppendix42

from phonetics.callsign_mixes import CALLSIGN_MIXES, compose_callsign
from phonetics.callsigns import UNALLOCATED_PREFIXES
from phonetics.series import holder_of, holders

CHARACTERS = ascii_uppercase + digits
CALLS = 20_000
HALF_SERIES = ("3D", "SS")
# Three rows of the ITU's table, for PJ, are one row of ours.
PJ = "Netherlands (Kingdom of the) - Bonaire, Sint Eustatius and Saba / Curaçao / Sint Maarten"


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> ItuAppendix42:
    """Load the table that the library ships, not one that the user has downloaded or cached."""
    with pytest.MonkeyPatch.context() as patch:
        home: Path = tmp_path_factory.mktemp("library")
        patch.setenv("HOME", str(home))
        patch.setenv("USERPROFILE", str(home))
        with warnings.catch_warnings():
            # The library does not close its cache file.
            warnings.simplefilter("ignore", ResourceWarning)
            made = ItuAppendix42(force=True)
            gc.collect()
        return made


@pytest.fixture(scope="module")
def their_holders(library: ItuAppendix42) -> dict[str, str]:
    """Return the holder of every allocated series of three characters, according to the library."""
    found: dict[str, str] = {}
    for pattern, country in library.forward().items():
        classes = re.findall(r"\[([^]]+)\]|(.)", pattern)
        choices = [
            [c for c in CHARACTERS if re.fullmatch(f"[{span or one}]", c)] for span, one in classes
        ]
        for three in itertools.product(*choices):
            found["".join(three)] = country["name"]
    return found


def test_every_series_has_the_same_holder(their_holders: dict[str, str]) -> None:
    assert len(their_holders) == 24_648
    for three in map("".join, itertools.product(CHARACTERS, CHARACTERS, ascii_uppercase)):
        ours, theirs = holder_of(three), their_holders.get(three, "")
        assert ours == theirs or (three.startswith("PJ") and ours.startswith(PJ) and theirs), three


def test_counts_of_series_are_those_of_the_table() -> None:
    pairs = map("".join, itertools.product(CHARACTERS, repeat=2))
    assert sum(bool(holder_of(pair)) or pair in HALF_SERIES for pair in pairs) == 948
    assert len(holders()) == 203


def test_single_characters_with_one_holder_are_those_of_19_50_1() -> None:
    assert {c for c in CHARACTERS if holder_of(c)} == set("BFGIKMNRW2")


@pytest.mark.parametrize("mix", [mix for mix in CALLSIGN_MIXES if mix != "unassigned"])
def test_composed_calls_match_the_expression(
    mix: str, library: ItuAppendix42, their_holders: dict[str, str]
) -> None:
    rng = Random(42)
    structures: Counter[str] = Counter()
    for _ in range(CALLS if mix == "world" else 3000):
        call = compose_callsign(rng, mix=mix)
        structures[f"{len(call.prefix)}x{len(call.suffix)}"] += 1
        if call.prefix[:2] in HALF_SERIES:
            assert their_holders[call.prefix] == call.holder
        else:
            assert library.fullmatch(call.base), call.text
        if call.before:
            assert re.match(library.prefix_regex(), call.before), call.text
    if mix == "world":
        assert structures.keys() >= {"1x2", "1x3", "2x1", "2x2", "2x3"}
        assert min(structures[key] for key in ("1x2", "1x3", "2x1", "2x2", "2x3")) > 500


@pytest.mark.slow
@pytest.mark.parametrize("structure", ["1x2", "1x3", "2x1", "2x2", "2x3"])
def test_20_000_calls_of_every_structure_match(structure: str, library: ItuAppendix42) -> None:
    rng = Random(structure)
    seen = 0
    while seen < CALLS:
        call = compose_callsign(rng, strokes=0)
        if f"{len(call.prefix)}x{len(call.suffix)}" == structure:
            seen += 1
            assert call.prefix[:2] in HALF_SERIES or library.fullmatch(call.base), call.text


def test_calls_without_a_holder_are_refused(library: ItuAppendix42) -> None:
    rng = Random(43)
    nobodys = 0
    for _ in range(CALLS):
        call = compose_callsign(rng, mix="unassigned")
        if call.prefix in UNALLOCATED_PREFIXES:
            nobodys += 1
            assert not library.match(call.base), call.text
        else:
            half = call.prefix[:2] in HALF_SERIES
            assert half or library.fullmatch(call.base), call.text
            assert re.fullmatch("Q[R-U][A-Z]", call.suffix)
    assert CALLS / 2 < nobodys < CALLS
