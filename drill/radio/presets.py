"""Named fading presets, read from the data that ships with the package."""

import tomllib
from functools import lru_cache
from importlib.resources import files

from drill.errors import UserError
from drill.items import Fading


@lru_cache(maxsize=1)
def _table() -> dict[str, dict[str, object]]:
    text = files("drill.radio").joinpath("conditions/fading.toml").read_text("utf-8")
    return tomllib.loads(text)


def fading_names() -> tuple[str, ...]:
    """Return the names of the presets, calm first."""
    return tuple(_table())


def fading_sentence(name: str) -> str:
    """Return what one hears with a preset, in a sentence."""
    return str(_table()[name]["says"])


def fading(name: str) -> Fading:
    """Return a preset by its name. Raises: UserError with the names where there is none such."""
    try:
        row = _table()[name]
    except KeyError:
        raise UserError(
            f"there is no fading preset {name!r}; choose one of {', '.join(fading_names())}"
        ) from None
    return Fading(
        name=name,
        delay_ms=float(str(row["delay_ms"])),
        spread_hz=float(str(row["spread_hz"])),
    )
