"""From a word to the phonemes of the natural voice, and how an accent changes them.

The table is data (pronunciations.toml), made once with hibari's own reading and then corrected by
hand; accents are lists of replacements (accents.toml). A word outside the table, from a user's own
exchange, is read by hibari when it is met.
"""

import re
import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from drill.core.errors import NoVoice, UserError, install

MAIN_STRESS, SIDE_STRESS = "\u02c8", "\u02cc"


def phonemes(say: str, accent: str = "") -> str:
    """Return a word's phonemes in the model's alphabet, changed by the accent.

    Raises: UserError where the accent is unknown or nothing can be spoken; NoVoice without hibari.
    """
    spoken = known(say) or _read(say)
    for pattern, by in _rules(accent):
        spoken = pattern.sub(by, spoken)
    return spoken


def known(say: str) -> str:
    """Return a word's phonemes from the table, "" where it is not in it; numbers part by part."""
    whole = table().get(say)
    if whole:
        return whole
    parts = [table().get(part, "") for part in say.split("-")]
    return "".join(parts[:-1]).replace(MAIN_STRESS, SIDE_STRESS) + parts[-1] if all(parts) else ""


@cache
def table() -> dict[str, str]:
    """Return the table of words and phonemes."""
    return dict(_data("pronunciations")["words"])


@cache
def accents() -> tuple[str, ...]:
    """Return the names of the accents, "" not among them."""
    return tuple(_data("accents"))


def _data(name: str) -> dict[str, Any]:
    return tomllib.loads((files("drill.voices") / "data" / f"{name}.toml").read_text("utf-8"))


@cache
def _rules(accent: str) -> tuple[tuple[re.Pattern[str], str], ...]:
    if not accent:
        return ()
    known = _data("accents")
    if accent not in known:
        raise UserError(f"no accent {accent!r}; there are: {', '.join(known)}")
    return tuple((re.compile(pattern), by) for pattern, by in known[accent]["rules"])


@cache
def _reader() -> Any:
    try:
        from hibari.g2p import G2P
    except ImportError:
        raise NoVoice(
            f"the natural voice needs hibari-tts: {install('hibari-tts==0.2.1')}"
        ) from None
    return G2P()


@cache
def _read(say: str) -> str:
    """Return hibari's reading of a word that is not in the table."""
    spoken = str(_reader()(say)).strip()
    if not re.search(r"\w", spoken):
        raise UserError(f"the voice cannot read {say!r}; write it with letters a to z")
    return re.sub(r"[\s.,;:!?]+", "", spoken)
