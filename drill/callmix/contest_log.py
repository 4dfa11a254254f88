"""Contest logs in the open standard forms: who was worked, and what was received from them.

ADIF as ADI files (by adif-io), Cabrillo (by cabrillo). Logs are read as Latin-1: the lengths in an
ADI file then count bytes, and nothing that is needed of either form lies beyond ASCII.
"""

import re
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path

from drill.core.errors import UserError
from phonetics.callsigns import parse

LARGEST = 200_000_000
"""Bytes of a log that are read."""

# Fields of ADIF 3.1.6 that hold what the other station gave in a contest; values from memory, see
# tests/outside/test_logs.py. Those of TABLED are often filled from tables of the logging program,
# and so count only where a contact holds no SRX and no SRX_STRING.
GIVEN = {
    "RST_RCVD": "report",
    "SRX": "serial",
    "PRECEDENCE": "letter",
    "CHECK": "year",
    "CLASS": "word",
    "RX_PWR": "power",
    "ARRL_SECT": "area",
    "DARC_DOK": "area",
    "AGE": "age",
}
TABLED = {
    "ITUZ": "zone-itu",
    "CQZ": "zone-amateur",
    "GRIDSQUARE": "locator",
    "STATE": "area",
    "NAME": "name",
}
OTHER = "other"
FORMS = (
    ("locator", "[A-R]{2}[0-9]{2}([A-X]{2})?", 0.8),
    ("power", "K|KW|[0-9]{1,4}(W|KW)?", 0.8),
    ("letter", "[A-Z]", 0.8),
    ("area", "[A-Z0-9]{1,4}", 0.95),
    ("name", "[A-Z]{2,12}", 0.8),
)
"""Kinds told by their form, the first that fits so large a share of a column."""
WATTS = {1, 2, 5, 10, 20, 25, 50, 80, 90, 100, 150, 200, 250, 300, 400, 500, 600, 700, 750, 800}
WATTS |= {900, 1000, 1200, 1500, 2000}


@dataclass(frozen=True, kw_only=True, slots=True)
class Contact:
    """One contact: the call worked, kinds of field named by the log, and other pieces received."""

    call: str
    kinds: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Log:
    """The contacts of a log, and the whole of its text, which may hold more calls."""

    contacts: tuple[Contact, ...]
    text: str


def read(path: Path) -> Log:
    """Return a log. Raises: UserError naming the file, and the line or record where one is bad."""
    try:
        if path.stat().st_size > LARGEST:
            raise UserError(f"{path} has over {LARGEST // 1_000_000} MB; no log has")
        text = path.read_text("latin-1").removeprefix("\xef\xbb\xbf")
    except OSError as error:
        raise UserError(f"{path} cannot be read: {error.strerror or error}") from None
    if text.lstrip()[:13].upper() == "START-OF-LOG:":
        contacts = tuple(_cabrillo(path, text))
    elif re.search("<eor>", text, re.IGNORECASE):
        contacts = tuple(_adif(path, text))
    else:
        raise UserError(f"{path} is neither an ADI file with <EOR> nor a Cabrillo log")
    if not contacts:
        raise UserError(f"{path} holds no contacts")
    return Log(contacts=contacts, text=text)


def _cabrillo(path: Path, text: str) -> Iterator[Contact]:
    from cabrillo.errors import CabrilloParserException
    from cabrillo.parser import parse_qso

    for number, line in enumerate(text.splitlines(), 1):
        tag, _, value = line.partition(":")
        if tag.strip().upper() != "QSO":  # an X-QSO is one that its owner does not count
            continue
        try:
            contact = parse_qso(value, valid=True, check_mode=False)
        except (CabrilloParserException, ValueError, IndexError) as error:
            raise UserError(f"{path}, line {number}: {_short(error)}") from None
        yield Contact(call=contact.dx_call.upper(), pieces=tuple(contact.dx_exch))


def _adif(path: Path, text: str) -> Iterator[Contact]:
    from adif_io import AdifDuplicateFieldError, AdifError, read_from_string

    try:
        records, _ = read_from_string(text)
    except AdifError as error:
        in_record = isinstance(error, AdifDuplicateFieldError) and "header" not in str(error)
        where = f"record {_bad_record(text)}" if in_record else "header"
        raise UserError(f"{path}, {where}: {_short(error)}") from None
    rest = text[text.lower().rindex("<eor>") :]
    if re.search(r"<\w+:\d+", rest):
        raise UserError(f"{path}, record {len(records) + 1}: it is cut off, without <EOR>")
    for number, record in enumerate(records, 1):
        if "CALL" not in record:
            raise UserError(f"{path}, record {number}: it has no CALL")
        names = GIVEN if "SRX" in record or "SRX_STRING" in record else GIVEN | TABLED
        pieces = record.get("SRX_STRING", "").split()
        serial = record.get("SRX", "").lstrip("0")
        yield Contact(
            call=record["CALL"].strip().upper(),
            kinds=tuple(kind for name, kind in names.items() if name in record),
            pieces=tuple(piece for piece in pieces if piece.lstrip("0") != serial),
        )


def _bad_record(text: str) -> int:
    """Return the number of the first record that holds a field twice; there must be one."""
    from adif_io import AdifDuplicateFieldError, read_from_string

    ends = [match.end() for match in re.finditer("<eor>", text, re.IGNORECASE)] + [len(text)]

    def refused(end: int) -> bool:
        try:
            read_from_string(text[:end])
        except AdifDuplicateFieldError:
            return True
        return False

    at = bisect_left(ends, True, key=refused)
    return len(read_from_string(text[: ends[at - 1]])[0]) + 1 if at else 1


def _short(error: Exception) -> str:
    """Return a parser's message in one line without the record that some of them quote."""
    return re.sub(r"\{.*\},? |,? previously.*", "", " ".join(str(error).split()))[:160].rstrip(".")


# --- what kinds of field were exchanged


def kinds_of(contacts: Sequence[Contact]) -> Counter[str]:
    """Return how often each kind of field was received: names as in phonetics.kinds, or "other".

    What a log does not name is told by the whole column: a number that is mostly the zone of the
    call is a zone. What could be several kinds, such as ages and two-digit years, is "number".
    """
    counts = Counter(kind for contact in contacts for kind in contact.kinds)
    columns = zip_longest(*(contact.pieces for contact in contacts), fillvalue="")
    calls = [contact.call for contact in contacts]
    for column in columns:
        held = [(call, piece.upper()) for call, piece in zip(calls, column, strict=True) if piece]
        counts[_kind(held)] += len(held)
    return counts


def _kind(column: Sequence[tuple[str, str]]) -> str:
    """Return the kind of one column of calls and pieces; see kinds_of."""
    pieces = [piece for _, piece in column]

    def mostly(form: str, share: float) -> bool:
        return sum(bool(re.fullmatch(form, piece)) for piece in pieces) >= share * len(pieces)

    if mostly("599?", 0.6):
        return "report"
    if mostly("[0-9]{1,6}", 0.8):
        return _number_kind([(call, int(piece)) for call, piece in column if piece.isdecimal()])
    return next((kind for kind, form, share in FORMS if mostly(form, share)), OTHER)


def _number_kind(column: Sequence[tuple[str, int]]) -> str:
    zones: Counter[str] = Counter()
    for call, number in column:
        try:
            place = parse(call).place
        except ValueError:
            continue
        zones["zone-itu"] += number == place.itu_zone
        zones["zone-amateur"] += number == place.amateur_zone
    best, hits = max(zones.items(), key=lambda pair: pair[1], default=("", 0))
    numbers = [number for _, number in column]
    if hits >= 0.6 * len(numbers):
        return best
    if sum(number in WATTS for number in numbers) >= 0.8 * len(numbers):
        return "power"
    return "serial" if max(numbers, default=0) > 100 else "number"
