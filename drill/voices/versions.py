"""Package versions and digests of data tables, for the `version` of a speech engine."""

import hashlib
import json
import tomllib
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path


def installed_version(package: str) -> str:
    """Return the version of an installed package, "none" if it is not installed."""
    try:
        return version(package)
    except PackageNotFoundError:
        return "none"


@cache
def digest_of_tables(*paths: Path) -> str:
    """Return 12 hexadecimal digits that change when a value in one of the TOML files changes.

    Comments and the order of named entries do not matter. Each process reads the files once.
    """
    tables = [tomllib.loads(path.read_text("utf-8")) for path in paths]
    return hashlib.sha256(json.dumps(tables, sort_keys=True).encode()).hexdigest()[:12]
