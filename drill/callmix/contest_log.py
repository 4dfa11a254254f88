"""Contest logs in the open formats ADIF and Cabrillo: the calls worked and the exchanges received.

Logs are read as Latin-1, so that the field lengths of an ADI file count bytes; everything that is
read from either format is ASCII.
"""

import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from adif_io import AdifDuplicateFieldError, AdifError, read_from_string
from cabrillo.errors import CabrilloParserException
from cabrillo.parser import parse_qso

from drill.core.errors import UserError

MAX_LOG_BYTES = 200_000_000

# Fields of ADIF 3.1.6 for the exchange that the other station sent; values from memory, see
# tests/outside/test_logs.py.
RECEIVED_FIELDS = {
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
# Fields that logging programs often fill from tables; they count only if a contact has neither SRX
# nor SRX_STRING.
LOOKED_UP_FIELDS = {
    "ITUZ": "zone-itu",
    "CQZ": "zone-amateur",
    "GRIDSQUARE": "locator",
    "STATE": "area",
    "NAME": "name",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class LogContact:
    """One contact of a log.

    kinds: kinds of the fields that the log names. unnamed: the other texts received, in order.
    """

    call: str
    kinds: tuple[str, ...] = ()
    unnamed: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class ContestLog:
    """The contacts of a log, and its whole text, which may contain more calls."""

    contacts: tuple[LogContact, ...]
    text: str


def read_log(path: Path) -> ContestLog:
    """Return the log in a file.

    Raises: UserError naming the file and the line or record that is wrong.
    """
    try:
        if path.stat().st_size > MAX_LOG_BYTES:
            raise UserError(
                f"{path} is larger than {MAX_LOG_BYTES // 1_000_000} MB; give a contest log"
            )
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
        raise UserError(f"{path} contains no contacts")
    return ContestLog(contacts=contacts, text=text)


def _cabrillo(path: Path, text: str) -> Iterator[LogContact]:
    for number, line in enumerate(text.splitlines(), 1):
        tag, _, value = line.partition(":")
        # The owner of the log does not count a contact tagged X-QSO.
        if tag.strip().upper() != "QSO":
            continue
        try:
            contact = parse_qso(value, valid=True, check_mode=False)
        except (CabrilloParserException, ValueError, IndexError) as error:
            raise UserError(f"{path}, line {number}: {_brief(error)}") from None
        yield LogContact(call=contact.dx_call.upper(), unnamed=tuple(contact.dx_exch))


def _adif(path: Path, text: str) -> Iterator[LogContact]:
    try:
        records, _ = read_from_string(text)
    except AdifError as error:
        in_record = isinstance(error, AdifDuplicateFieldError) and "header" not in str(error)
        where = f"record {_bad_record(text)}" if in_record else "header"
        raise UserError(f"{path}, {where}: {_brief(error)}") from None
    rest = text[text.lower().rindex("<eor>") :]
    if re.search(r"<\w+:\d+", rest):
        raise UserError(f"{path}, record {len(records) + 1}: it is cut off before <EOR>")
    for number, record in enumerate(records, 1):
        if "CALL" not in record:
            raise UserError(f"{path}, record {number}: the field CALL is missing")
        fields = (
            RECEIVED_FIELDS
            if "SRX" in record or "SRX_STRING" in record
            else RECEIVED_FIELDS | LOOKED_UP_FIELDS
        )
        texts = record.get("SRX_STRING", "").split()
        serial = record.get("SRX", "").lstrip("0")
        yield LogContact(
            call=record["CALL"].strip().upper(),
            kinds=tuple(kind for name, kind in fields.items() if name in record),
            unnamed=tuple(text for text in texts if text.lstrip("0") != serial),
        )


def _bad_record(text: str) -> int:
    """Return the number of the first record with a duplicate field; there must be one."""
    ends = [match.end() for match in re.finditer("<eor>", text, re.IGNORECASE)] + [len(text)]

    def has_duplicate(end: int) -> bool:
        try:
            read_from_string(text[:end])
        except AdifDuplicateFieldError:
            return True
        return False

    first = bisect_left(ends, True, key=has_duplicate)
    return len(read_from_string(text[: ends[first - 1]])[0]) + 1 if first else 1


def _brief(error: Exception) -> str:
    """Return a parser's message in one line, without the record that some messages quote."""
    return re.sub(r"\{.*\},? |,? previously.*", "", " ".join(str(error).split()))[:160].rstrip(".")
