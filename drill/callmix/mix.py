"""Mixes of calls learned from the user's own log: statistics of prefixes, and no call of it.

What is kept
------------
* Counts of different stations by prefix, digit and length of the suffix. A count below 5 is
  pooled with others: without the length, then by holder and region, then by region, then over the
  world; what is still below 5 is dropped. So nothing that is kept stands for fewer than 5.
* Kinds of the fields that were exchanged, counted.
* For each call of the log one bit of a table, so that none of them is ever played. The bit is
  chosen by a hash with a random salt; the table has about as many bits as calls, and so half to
  three quarters of them are set (FULLEST at the most). A call of the log always meets a set bit;
  so does every second other call. The table thus gives at most odds of 2 to 1 for any call, even to
  one who tries every call there is. Longer hashes would not do: with 20 bits a list of fifty
  thousand active stations would give nearly all those of the log away, since few others fit by
  chance. The price is that half of all other calls are never composed either; nobody misses them.

drill.callmix.learn makes a LearnedMix, drill.callmix.contest_log reads logs. A LearnedMix goes whole into the plan of a
sitting, so that the same items come again after its file is changed or gone.
"""

import os
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from hashlib import blake2b
from json import dumps
from pathlib import Path
from random import Random
from typing import Any

from drill.core.errors import UserError
from drill.core.paths import data_folder
from phonetics.callsigns import (
    MIXES,
    UNASSIGNED,
    Callsign,
    compose_at,
    draw_place,
    draw_suffix,
    is_valid,
)
from phonetics.series import Place, place_of, places

FULLEST = 0.8
"""Share of bits that may be set; the salt is drawn again until no more are."""
SCHEMA = 1
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,30}")
_HEAD = """# Statistics of prefixes, learned by faintcall learn-mix. No call of the log is in
# here; what taken and salt are, and why they identify no station, stands in drill/callmix/mix.py.
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class Share:
    """How many stations were of one sort.

    A sort is a prefix and digit with a length of suffix (0: as usual there), or all other prefixes
    of a holder in a region, or of a region (one of MIXES).
    """

    stations: int
    prefix: str = ""
    digit: str = ""
    length: int = 0
    holder: str = ""
    region: str = ""

    def __post_init__(self) -> None:
        """Check that calls can be composed of it. Raises: UserError."""
        good = self.stations > 0 and 0 <= self.length <= 4
        if self.prefix:
            good = good and is_valid(self.prefix + self.digit + "A" * max(self.length, 1))
        else:
            good = good and self.region in MIXES and self.region != UNASSIGNED
            good = good and (not self.holder or bool(places_of(self.holder, self.region)))
        if not good:
            raise UserError(f"no calls can be composed for {self}")

    def draw(self, rng: Random) -> Callsign:
        """Return a call of this sort composed at random."""
        if self.prefix:
            length = self.length or rng.choice(_usual_lengths(self.prefix, self.digit))
            suffix = draw_suffix(rng, length)
            return Callsign(prefix=self.prefix, digit=self.digit, suffix=suffix)
        if self.holder:
            near = places_of(self.holder, self.region)
            return compose_at(rng, rng.choices(near, [place.weight for place in near])[0])
        return compose_at(rng, draw_place(rng, self.region))


def _usual_lengths(prefix: str, digit: str) -> list[int]:
    lengths = [n for n in place_of(prefix, digit).suffixes if n + len(prefix) > 2]
    return lengths or [2]


@lru_cache(maxsize=512)
def places_of(holder: str, region: str) -> tuple[Place, ...]:
    """Return the places that a holder has in a region."""
    return tuple(
        place for place in places() if place.holder == holder and region_of(place.region) == region
    )


def region_of(name: str) -> str:
    """Return the mix that goes by a region's name."""
    return name.lower().replace(" ", "-")


@dataclass(frozen=True, kw_only=True, slots=True)
class LearnedMix:
    """A mix learned from a log. Checked when made; raises UserError.

    taken: the table of bits as hexadecimal text, a power of two of bytes. salt: 32 hexadecimal
    digits.
    """

    name: str
    shares: tuple[Share, ...]
    salt: str
    taken: str

    def __post_init__(self) -> None:
        """Check the form."""
        try:
            table, salt = bytes.fromhex(self.taken), bytes.fromhex(self.salt)
        except ValueError:
            raise UserError(f"mix {self.name!r}: taken and salt are no hexadecimal text") from None
        if len(table) & (len(table) - 1) or not table or len(salt) != 16:
            raise UserError(f"mix {self.name!r}: taken or salt is of another length")
        if filled(table) > FULLEST:
            raise UserError(f"mix {self.name!r}: the table leaves hardly a call to play")
        if not self.shares or not _NAME.fullmatch(self.name):
            raise UserError(f"mix {self.name!r} has no shares or no good name")

    def is_taken(self, base: str) -> bool:
        """Return True for every call of the log, and for about half of all others."""
        table = bytes.fromhex(self.taken)
        at = place_in(table, bytes.fromhex(self.salt), base)
        return bool(table[at >> 3] >> (at & 7) & 1)

    def draw(self, rng: Random) -> Callsign:
        """Return a call composed at random, by the shares, that is not of the log.

        Raises: UserError where all calls are taken.
        """
        weights = [share.stations for share in self.shares]
        for _ in range(100):
            share = rng.choices(self.shares, weights)[0]
            for _ in range(200):
                call = share.draw(rng)
                if not self.is_taken(call.base):
                    return call
        raise UserError(f"mix {self.name!r} leaves no call to play")


def place_in(table: bytes | bytearray, salt: bytes, base: str) -> int:
    """Return which bit of the table stands for a call."""
    digest = blake2b(base.encode("ascii"), key=salt, digest_size=8).digest()
    return int.from_bytes(digest, "big") % (8 * len(table))


def filled(table: bytes | bytearray) -> float:
    """Return the share of bits that are set."""
    return int.from_bytes(table, "big").bit_count() / (8 * len(table))


def mix_from_dict(data: Mapping[str, Any]) -> LearnedMix:
    """Return a mix from plain data, as JSON or TOML hold it. Raises: UserError."""
    from dacite import Config, DaciteError, from_dict

    try:
        return from_dict(LearnedMix, data, Config(strict=True, cast=[tuple]))
    except (DaciteError, TypeError) as error:
        raise UserError(f"the mix is not in the right form: {error}") from None


# --- files


def check_name(name: str) -> None:
    """Raise UserError where a mix cannot have this name."""
    if name in MIXES or not _NAME.fullmatch(name):
        raise UserError(
            f"{name!r} cannot be the name of a mix; give small letters, digits and hyphens, and "
            f"none of {', '.join(MIXES)}"
        )


def folder() -> Path:
    """Return the folder of the user's own mixes; it may not exist yet."""
    return data_folder() / "mixes"


def names() -> tuple[str, ...]:
    """Return the names of the user's own mixes."""
    return tuple(sorted(path.stem for path in folder().glob("*.toml") if path.stem not in MIXES))


def find(name: str) -> LearnedMix | None:
    """Return an own mix by name, None for one of MIXES. Raises: UserError."""
    if name in MIXES:
        return None
    path = folder() / f"{name}.toml"
    if not _NAME.fullmatch(name) or not path.is_file():
        raise UserError(f"mix {name!r} is unknown; choose one of {', '.join((*MIXES, *names()))}")
    try:
        data = tomllib.loads(path.read_text("utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        raise UserError(f"mix {path} cannot be read: {error}") from None
    if data.get("schema") != SCHEMA:
        raise UserError(f"{path} is no mix of this faintcall; learn it again")
    kept = {key: data.get(key) for key in ("salt", "taken")}
    return mix_from_dict({"name": name, "shares": data.get("share"), **kept})


def save(mix: LearnedMix, kinds: Mapping[str, int], *, force: bool) -> Path:
    """Write a mix, and the counts of the kinds of field exchanged, as a file; return its path.

    Raises: UserError where it is there already and force is not given, or cannot be written.
    """
    path = folder() / f"{mix.name}.toml"
    if path.exists() and not force:
        raise UserError(f"there is a mix {mix.name!r} already; --force replaces it")
    lines = [_HEAD + f"schema = {SCHEMA}", f'salt = "{mix.salt}"', f'taken = "{mix.taken}"']
    lines += ["", "[exchange]", *(f"{kind} = {count}" for kind, count in sorted(kinds.items()))]
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


def _share_lines(share: Share) -> Sequence[str]:
    values = {name: getattr(share, name) for name in Share.__dataclass_fields__}
    return [
        # A JSON string is a TOML string too.
        f"{name} = {dumps(value, ensure_ascii=False) if isinstance(value, str) else value}"
        for name, value in values.items()
        if value
    ]
