"""/api/hunt-files: the hunts of the record as a file, and the comparison of a club's hunts."""

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import PurePath
from typing import Any

from drill.core.errors import UserError
from drill.core.validation import checked_entries, checked_list, checked_table, checked_text, one_of
from drill.hunt.club import MAX_CLUB_FILES, ClubHunt, club_passages
from drill.hunt.exports import HUNT_FORMATS, hunt_format_of, hunt_rows, hunts_text, parse_hunts
from drill.web.database import open_record
from drill.web.request_fields import short_text

MAX_FILE_TEXT = 60_000
"""Largest number of characters of a file in a comparison."""


def hunt_file_bytes(form: str, *, own_call: bool) -> bytes:
    """Return the finished hunts as a file. form: one of HUNT_FORMATS.

    own_call: include the trainee's own call. Raises: UserError without a finished hunt.
    """
    one_of("format", form, HUNT_FORMATS)
    with open_record() as store:
        rows = list(hunt_rows(store, own_call=own_call))
    if not rows:
        raise UserError("the record has no finished hunt", field="format")
    return hunts_text(rows, form).encode()


def compare_hunts_json(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return the hunts of several files on the same bands.

    data: "files", each with "name" and "text". Raises: UserError.
    """
    entries = checked_entries(data, {"files": _checked_files}, required=["files"])
    hunts = [
        ClubHunt(name=PurePath(file["name"]).stem, row=row)
        for file in entries["files"]
        for row in parse_hunts(file["text"], hunt_format_of(file["name"]), name=file["name"])
    ]
    return {"bands": [asdict(passage) for passage in club_passages(hunts)]}


def _checked_files(name: str, value: Any) -> Any:
    return checked_list(name, value, _checked_file, most=MAX_CLUB_FILES)


def _checked_file(name: str, value: Any) -> Any:
    checks: Mapping[str, Any] = {"name": short_text, "text": _checked_file_text}
    return checked_entries(checked_table(name, value), checks, required=list(checks))


def _checked_file_text(name: str, value: Any) -> Any:
    return checked_text(name, value, longest=MAX_FILE_TEXT)
