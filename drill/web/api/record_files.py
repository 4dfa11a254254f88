"""/api/export and /api/import: the record as a file, and the file of another computer."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from drill.core.errors import UserError
from drill.core.paths import checked_person, record_file, record_of
from drill.core.validation import checked_entries, one_of
from drill.records.reading import read_attempts
from drill.records.rows import attempt_rows, count_attempts, merge_attempts
from drill.records.store import Store
from drill.records.writing import write_attempts
from drill.session.people import remove_person
from drill.web import request_fields
from drill.web.body_rules import RECORD_TYPES
from drill.web.database import open_record

RECORD_MEDIA_TYPES = {name: media_type for media_type, name in RECORD_TYPES.items()}
"""Media type of each format that the page offers."""


def export_bytes(format_name: str) -> bytes:
    """Return all attempts as a file; format_name: a key of RECORD_MEDIA_TYPES.

    Raises: UserError for another format, or if nothing is recorded.
    """
    one_of("format", format_name, RECORD_MEDIA_TYPES)
    with open_record() as store, _scratch_file(format_name) as path:
        if not count_attempts(store):
            raise UserError("nothing is recorded yet")
        write_attempts(path, format_name, attempt_rows(store))
        return path.read_bytes()


def import_bytes(query: Mapping[str, str], data: bytes, media_type: str) -> dict[str, Any]:
    """Add the attempts of an exported file; return how many it has and how many were new.

    query: "person", whose record gets them, by default the present person's. media_type: a key of
    RECORD_TYPES. Raises: UserError if anything in the file is wrong; then nothing is added.
    """
    format_name = RECORD_TYPES[media_type]
    person = checked_entries(query, {"person": request_fields.short_text}).get("person")
    record = record_file() if person is None else record_of(checked_person(person))
    is_new = not record.exists()
    try:
        with Store(record) as store, _scratch_file(format_name) as path:
            path.write_bytes(data)
            read, added = merge_attempts(store, read_attempts(path, format_name))
    except UserError:
        if person is not None and is_new and record.exists():
            remove_person(person)
        raise
    return {"read": read, "added": added}


@contextmanager
def _scratch_file(format_name: str) -> Iterator[Path]:
    """Yield the path of a file that is deleted afterwards."""
    with TemporaryDirectory(prefix="faintcall-") as folder:
        yield Path(folder) / f"attempts.{format_name}"
