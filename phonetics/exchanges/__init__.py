"""Exchanges: what two stations tell each other, each a small TOML file.

Conventions: a file holds `title`, `sentence`, and one `[[field]]` table a field, in the order of
speaking, with `name`, `kind` (a key of KINDS) and the options of that kind. The contests and areas
are invented. A file of the user's folder wins over a shipped one of the same name.
"""

from phonetics.exchanges.definition import (
    Exchange,
    ExchangeError,
    FieldSpec,
    load,
    names,
    parse,
)
from phonetics.exchanges.kinds import KINDS, Kind

__all__ = ["KINDS", "Exchange", "ExchangeError", "FieldSpec", "Kind", "load", "names", "parse"]
