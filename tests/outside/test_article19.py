"""Call signs compared with worked cases of ITU Radio Regulations Article 19.

Each case names its clause. Calls written out here are ones that no administration can have
assigned; assignable ones are joined from prefix and suffix as the test runs.
"""

import itertools
from string import ascii_uppercase, digits

import pytest

from phonetics.callsigns import (
    DISTRESS_SIGNALS,
    UNALLOCATED_PREFIXES,
    explain_callsign,
    is_valid_callsign,
    parse_callsign,
)

CHARACTERS = ascii_uppercase + digits


@pytest.mark.parametrize(
    ("text", "prefix", "digit", "suffix"),
    [
        ("W1QRS", "W", "1", "QRS"),  # 19.68 (a), with 19.69 for the digit 1
        ("G0QUZ", "G", "0", "QUZ"),  # 19.68 (a), with 19.69 for the digit 0
        ("2E0QRS", "2E", "0", "QRS"),  # 19.68 (b), 19.50: digit and letter
        ("9A2QST", "9A", "2", "QST"),  # 19.68 (b), 19.50: digit and letter
        ("E81ABCD", "E8", "1", "ABCD"),  # 19.68 (b), 19.50: letter and digit, four characters
        ("YZ7A1B", "YZ", "7", "A1B"),  # 19.68 (b): only the last must be a letter
        ("3DA0QRS", "3DA", "0", "QRS"),  # 19.68.1: half series, three characters
        ("SSN2QTX", "SSN", "2", "QTX"),  # 19.68.1
    ],
)
def test_structures_that_are_allowed(text: str, prefix: str, digit: str, suffix: str) -> None:
    call = parse_callsign(text)
    assert (call.prefix, call.digit, call.suffix) == (prefix, digit, suffix)


@pytest.mark.parametrize(
    "text",
    [
        "21QRS",  # 19.50.1 lists the single character 2, but 19.68 (a) does not
        "EI4QRS7",  # 19.68: the last character has to be a letter
        "W1QRSTU",  # 19.68 (a): at most four characters; five need 19.68A
        "E81ABCDE",  # 19.68 (b): at most four characters
        "3DA0QRSA",  # 19.68.1: at most three
        "E10QRS",  # 19.50 and 19.69: no series has the second character 1
        "A0QRS",  # 19.68 (a): the single letter A is not a nationality
        "W1",  # 19.68: no suffix
        "WQRS",  # 19.68: no separating digit
        "W1QRÄ",  # 19.45: accented letters are excluded
    ],
)
def test_structures_that_are_not_allowed(text: str) -> None:
    assert not is_valid_callsign(text)
    with pytest.raises(ValueError, match=r"19\.68"):
        parse_callsign(text)


@pytest.mark.parametrize(
    ("text", "clause"),
    [
        ("W1QRÄ", "19.45"),
        ("w1qrs", "19.45"),
        ("W1SOS", "19.47"),
        ("W1QRA", "19.48"),
        ("W1QUZ", "19.48"),
        ("E81ABC", "19.50"),
        ("3D2QRS", "19.50"),  # a half series; the message does not say which half
    ],
)
def test_a_forbidden_call_is_reported_with_its_clause(text: str, clause: str) -> None:
    assert not is_valid_callsign(text)
    assert f"RR {clause}" in explain_callsign(text)


@pytest.mark.parametrize("suffix", ["QQZ", "QVA", "RQR"])
def test_suffixes_next_to_the_q_code_are_allowed(suffix: str) -> None:
    # 19.48 with Rec. ITU-R M.1172: the groups for all services are QRA to QUZ.
    assert is_valid_callsign("W" + "1" + suffix)


def test_no_group_of_the_q_code_is_allowed() -> None:
    for second, third in itertools.product("RSTU", ascii_uppercase):
        assert not is_valid_callsign("W1Q" + second + third)


@pytest.mark.parametrize("run", DISTRESS_SIGNALS)
def test_distress_signals_are_refused(run: str) -> None:
    assert "19.47" in explain_callsign("W1" + run)  # values from memory, except SOS


@pytest.mark.parametrize(
    ("prefix", "clause"),
    [("K", "19.68 (a)"), ("DL", "19.68 (b)"), ("3DA", "19.68.1")],
)
def test_the_number_of_suffixes(prefix: str, clause: str) -> None:
    """Counted by Nos. 19.68 and 19.68.1: 26 x (1 + 36 + 36^2) of up to three characters."""
    bases = (
        prefix + "2" + "".join(head) + last
        for length in range(3)
        for head in itertools.product(CHARACTERS, repeat=length)
        for last in CHARACTERS
    )
    read = 0
    for base in bases:
        try:
            read += parse_callsign(base).prefix == prefix
        except ValueError:
            continue
    assert read == 34_658
    assert clause in explain_callsign(prefix + "2" + "AB")


def test_lengths_are_three_to_seven() -> None:
    # ITU-R terrestrial services, questions on call signs: from 3 up to 7 characters.
    lengths = {
        len(f"{prefix}2{'A' * length}")
        for prefix in ("K", UNALLOCATED_PREFIXES[0], "3DA")
        for length in range(1, 8)
        if _reads(f"{prefix}2{'A' * length}")
    }
    assert lengths == {3, 4, 5, 6, 7}


def _reads(text: str) -> bool:
    try:
        parse_callsign(text)
    except ValueError:
        return False
    return True
