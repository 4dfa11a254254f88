"""The item sets in the user's data folder: rendered by the page, or added from another computer.

A set that was added has its plan and its manifest but no sound files, because its items are
rendered again from the plan.
"""

import io
import json
import lzma
import shutil
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from drill.core.audio_files import AUDIO_FORMATS, make_folder
from drill.core.errors import UserError, single_line
from drill.core.paths import PERSON_NAME, data_folder
from drill.core.structuring import from_data, to_data
from drill.core.unicode_text import printable
from drill.core.validation import json_value
from drill.items.plan import Plan
from drill.itemsets.read import read_item_set
from drill.itemsets.write import MANIFEST_FILE, PLAN_FILE, count_finished_items

EXTRAS_FILE = ".extras.json"
"""File beside the plan of a set that the page renders, needed to continue it; not put into a
zip."""
MAX_ADDED_BYTES = 64 * 1024 * 1024
"""Maximum size in bytes of plan and manifest together in a set that is added."""
ZIP_ERRORS = (
    *(zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error),
    *(RuntimeError, ValueError, OSError, EOFError),
)
"""Errors that zipfile raises for damaged, encrypted and unsupported files."""
_COPY_BYTES = 1 << 20


@dataclass(frozen=True, kw_only=True, slots=True)
class SetExtras:
    """The contents of a set other than its items.

    format: one of AUDIO_FORMATS. people: number of answer sheets. track_s: pause of the track in
    seconds, None without a track.
    """

    format: str = AUDIO_FORMATS[0]
    people: int = 1
    track_s: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class StoredSet:
    """A set in the user's data folder.

    finished: number of items in the manifest. has_sound: whether the sound files are there too.
    problem: why its plan cannot be used, "" if it can.
    """

    name: str
    folder: Path
    plan: Plan | None
    finished: int
    has_sound: bool
    problem: str = ""

    @property
    def complete(self) -> bool:
        """True if every item is in the manifest."""
        return self.plan is not None and self.finished == self.plan.count


def sets_folder() -> Path:
    """Return the folder of all sets; it may not exist yet. Raises: UserError."""
    return data_folder() / "sets"


def set_folder(name: str) -> Path:
    """Return the folder of the set with this name, which may not exist.

    Raises: UserError with field "name" if a set cannot have this name.
    """
    if not PERSON_NAME.fullmatch(name):
        raise UserError(
            f"the name {printable(name)!r} is not possible for a set; give 1 to 40 letters, "
            "digits, spaces, or . - '",
            field="name",
        )
    return sets_folder() / name


def stored_sets() -> tuple[StoredSet, ...]:
    """Return all sets in the user's data folder, in alphabetical order. Raises: UserError."""
    folder = sets_folder()
    if not folder.is_dir():
        return ()
    names = sorted(path.name for path in folder.iterdir() if PERSON_NAME.fullmatch(path.name))
    found = (find_stored_set(name) for name in names)
    return tuple(stored for stored in found if stored is not None)


def find_stored_set(name: str) -> StoredSet | None:
    """Return the set with this name, None if there is none. Raises: UserError for a bad name."""
    folder = set_folder(name)
    file = folder / PLAN_FILE
    if not file.is_file():
        return None
    plan, problem = None, ""
    try:
        plan = Plan.from_dict(json.loads(file.read_text("utf-8"))["plan"])
    except (OSError, ValueError, LookupError, TypeError, RecursionError, UserError) as error:
        problem = f"{file} cannot be used: {single_line(error)}"
    return StoredSet(
        name=name,
        folder=folder,
        plan=plan,
        finished=count_finished_items(folder),
        has_sound=any(folder.glob("item-*")),
        problem=problem,
    )


def save_extras(folder: Path, extras: SetExtras) -> None:
    """Write the extras of a set into its folder, creating the folder. Raises: UserError."""
    file = make_folder(folder) / EXTRAS_FILE
    try:
        file.write_text(json.dumps(to_data(extras)), "utf-8")
    except OSError as error:
        raise UserError(f"{file} cannot be written: {single_line(error)}") from None


def load_extras(folder: Path) -> SetExtras:
    """Return the extras of a set, the defaults if they are not known."""
    try:
        return from_data(SetExtras, json_value((folder / EXTRAS_FILE).read_bytes()))
    except (OSError, UserError):
        return SetExtras()


def delete_stored_set(stored: StoredSet) -> None:
    """Delete a set with its files. Raises: UserError if it cannot be deleted."""
    try:
        shutil.rmtree(stored.folder)
    except OSError as error:
        raise UserError(f"{stored.folder} cannot be deleted: {single_line(error)}") from None


def add_set(name: str, data: bytes, *, zipped: bool) -> StoredSet:
    """Store the plan and the manifest of a set from another computer; return the set.

    data: a zip file of the set's folder, or, if not zipped, the plan as one line of JSON and then
    the manifest. Raises: UserError if the name is in use, or if the data is not a complete set that
    this version composes in the same way; then nothing is stored.
    """
    folder = set_folder(name)
    if folder.exists():
        raise UserError(f"there is already a set {name!r}; give another name", field="name")
    plan, manifest = _files_in_zip(data) if zipped else _files_in_lines(data)
    make_folder(folder)
    try:
        (folder / PLAN_FILE).write_bytes(plan)
        (folder / MANIFEST_FILE).write_bytes(manifest)
        read_item_set(folder)
        stored = find_stored_set(name)
        assert stored is not None
        return stored
    except OSError as error:
        shutil.rmtree(folder, ignore_errors=True)
        raise UserError(f"{folder} cannot be written: {single_line(error)}") from None
    except UserError as error:
        shutil.rmtree(folder, ignore_errors=True)
        reason = str(error).replace(str(folder), "the file")
        raise UserError(reason, field="set") from None


def _files_in_zip(data: bytes) -> tuple[bytes, bytes]:
    """Return the plan and the manifest in a zip file, from whichever folder in it they are in."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            plan, manifest = (_member(archive, name) for name in (PLAN_FILE, MANIFEST_FILE))
    except ZIP_ERRORS:
        raise UserError("this is not a readable zip file of a set", field="set") from None
    return plan, manifest


def _member(archive: zipfile.ZipFile, name: str) -> bytes:
    """Return the content of the only file with this name. Raises: UserError."""
    members = [info for info in archive.infolist() if info.filename.rsplit("/", 1)[-1] == name]
    if len(members) != 1:
        raise UserError(f"the zip file has {len(members)} files {name}; give the zip of one set")
    with archive.open(members[0]) as file:
        content = file.read(MAX_ADDED_BYTES + 1)  # the size in the header may be wrong
    if len(content) > MAX_ADDED_BYTES:
        raise UserError(f"{name} in the zip file is too large for a set", field="set")
    return content


def _files_in_lines(data: bytes) -> tuple[bytes, bytes]:
    plan, _, manifest = data.partition(b"\n")
    json_value(plan)
    return plan, manifest


def zip_chunks(stored: StoredSet) -> Iterator[bytes]:
    """Yield a zip file of the set's folder piece by piece. Raises: OSError."""
    buffer = _ChunkBuffer()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        for file in sorted(stored.folder.iterdir()):
            if file.name.startswith(".") or not file.is_file():
                continue
            info = zipfile.ZipInfo.from_file(file, f"{stored.name}/{file.name}")
            with file.open("rb") as source, archive.open(info, "w") as target:
                while piece := source.read(_COPY_BYTES):
                    target.write(piece)
                    yield buffer.take()
    yield buffer.take()


class _ChunkBuffer(io.RawIOBase):
    """A write-only stream, not seekable, that holds the written bytes until `take` is called."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []

    def writable(self) -> bool:
        return True

    def write(self, data: "bytes | bytearray | memoryview") -> int:  # type: ignore[override]
        self._parts.append(bytes(data))
        return len(data)

    def take(self) -> bytes:
        """Return the bytes written since the last call."""
        content = b"".join(self._parts)
        self._parts.clear()
        return content
