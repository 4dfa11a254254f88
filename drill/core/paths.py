"""Folders of the user's files: one for data, one for caches that can be rebuilt.

The environment variable FAINTCALL_HOME replaces both (data/ and cache/ below it); tests use it.
Several people on one computer have a record each; FAINTCALL_PERSON names the one who practises.
"""

import os
import re
from pathlib import Path

from drill.core.errors import UserError
from drill.core.unicode_text import printable

HOME_VARIABLE = "FAINTCALL_HOME"
PERSON_VARIABLE = "FAINTCALL_PERSON"
RECORD_NAME = "record.sqlite3"
PERSON_NAME = re.compile(r"\w[\w .'-]{0,38}\w|\w")
"""Letters, digits and a few signs: a name that is a valid folder on every system."""


def data_folder() -> Path:
    """Return the folder of the record and the user's own presets, exchanges and voices.

    It may not exist yet. Raises: UserError if the user has no home folder.
    """
    return _folder("data")


def cache_folder() -> Path:
    """Return the folder of cached speech; it may not exist yet.

    Raises: UserError if the user has no home folder.
    """
    return _folder("cache")


def people_folder() -> Path:
    """Return the folder with a folder for each named person. Raises: as data_folder."""
    return data_folder() / "people"


def present_person() -> str:
    """Return the name of the person who practises, "" for nobody by name. Raises: UserError."""
    name = os.environ.get(PERSON_VARIABLE, "")
    return checked_person(name) if name else ""


def checked_person(name: str) -> str:
    """Return a name without spaces around it.

    Raises: UserError with field "person" if it cannot be the name of a folder.
    """
    name = name.strip()
    if not PERSON_NAME.fullmatch(name):
        raise UserError(
            f"the name {printable(name)!r} is not possible; give 1 to 40 letters, digits, spaces, "
            "or . - '",
            field="person",
        )
    return name


def record_of(person: str) -> Path:
    """Return the path of a person's record, "" for nobody by name. Raises: UserError."""
    folder = people_folder() / checked_person(person) if person else data_folder()
    return folder / RECORD_NAME


def record_file() -> Path:
    """Return the path of the present person's record; it may not exist yet. Raises: UserError."""
    return record_of(present_person())


def _folder(name: str) -> Path:
    import platformdirs  # not at the top, so that a command can report that it is missing

    folders = {"data": platformdirs.user_data_path, "cache": platformdirs.user_cache_path}
    try:
        home = os.environ.get(HOME_VARIABLE)
        if home:
            return Path(home).expanduser() / name
        return folders[name]("faintcall", appauthor=False)
    except RuntimeError:  # for example a container's user that the system does not know
        raise UserError(
            f"this user has no home folder; set the environment variable {HOME_VARIABLE} to the "
            "full path of a folder"
        ) from None
