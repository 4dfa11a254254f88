"""Learned mixes as files: TOML in the user's data folder, one file per mix."""

import os
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import fields
from json import dumps
from pathlib import Path

from drill.callmix.mix import MIX_NAME, LearnedMix, PrefixShare
from drill.core.errors import UserError
from drill.core.paths import data_folder
from drill.core.structuring import from_data
from phonetics.callsign_mixes import CALLSIGN_MIXES

SCHEMA = 1
_HEADER = """# Statistics of prefixes, learned by faintcall learn-mix. No call of the log is in this
# file; drill/callmix/call_filter.py explains what taken and salt are, and why they identify no
# station.
"""


def check_mix_name(name: str) -> None:
    """Raise UserError if a learned mix cannot have this name."""
    if name in CALLSIGN_MIXES or not MIX_NAME.fullmatch(name):
        raise UserError(
            f"{name!r} cannot be the name of a mix; use lower-case letters, digits and hyphens, "
            f"and not {', '.join(CALLSIGN_MIXES)}",
            field="name",
            kind="unknown",
        )


def mixes_folder() -> Path:
    """Return the folder of the learned mixes; it may not exist yet."""
    return data_folder() / "mixes"


def learned_mix_names() -> tuple[str, ...]:
    """Return the names of the learned mixes, sorted."""
    stems = {path.stem for path in mixes_folder().glob("*.toml")}
    return tuple(sorted(stems - set(CALLSIGN_MIXES)))


def find_learned_mix(name: str) -> LearnedMix | None:
    """Return a learned mix by name, None for one of CALLSIGN_MIXES.

    Raises: UserError for an unknown name or a file that cannot be used.
    """
    if name in CALLSIGN_MIXES:
        return None
    path = mixes_folder() / f"{name}.toml"
    if not MIX_NAME.fullmatch(name) or not path.is_file():
        known = ", ".join((*CALLSIGN_MIXES, *learned_mix_names()))
        raise UserError(
            f"mix {name!r} is unknown; choose one of {known}", field="mix", kind="unknown"
        )
    try:
        data = tomllib.loads(path.read_text("utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        raise UserError(f"mix {path} cannot be read: {error}", field="mix") from None
    if data.get("schema") != SCHEMA:
        raise UserError(f"{path} is not a mix of this version; learn it again", field="mix")
    filter_data = {key: data.get(key) for key in ("salt", "taken")}
    return from_data(LearnedMix, {"name": name, "shares": data.get("share"), **filter_data})


def save_learned_mix(mix: LearnedMix, kind_counts: Mapping[str, int], *, overwrite: bool) -> Path:
    """Write a mix and the counts of the kinds of field exchanged; return the path of the file.

    Raises: UserError if the mix exists and overwrite is False, or the file cannot be written.
    """
    path = mixes_folder() / f"{mix.name}.toml"
    if path.exists() and not overwrite:
        raise UserError(f"a mix {mix.name!r} already exists", field="name", kind="exists")
    lines = [_HEADER + f"schema = {SCHEMA}", f'salt = "{mix.salt}"', f'taken = "{mix.taken}"']
    lines += ["", "[exchange]"]
    lines += [f"{kind} = {count}" for kind, count in sorted(kind_counts.items())]
    for share in mix.shares:
        lines += ["", "[[share]]", *_share_lines(share)]
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_text("\n".join(lines) + "\n", encoding="utf-8")
        part.replace(path)
    except OSError as error:
        raise UserError(f"{path} cannot be written: {error.strerror or error}") from None
    finally:
        part.unlink(missing_ok=True)
    return path


def _share_lines(share: PrefixShare) -> Sequence[str]:
    """Return the entries of a share that are not empty; a JSON string is also a TOML string."""
    values = {field.name: getattr(share, field.name) for field in fields(share)}
    return [
        f"{name} = {dumps(value, ensure_ascii=False) if isinstance(value, str) else value}"
        for name, value in values.items()
        if value
    ]
