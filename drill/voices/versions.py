"""Versions of packages and digests of data tables, for the `version` of a speech engine."""

import hashlib
from importlib.metadata import PackageNotFoundError, version
from importlib.resources.abc import Traversable


def installed_version(package: str) -> str:
    """Return the version of an installed package, "none" if it is not installed."""
    try:
        return version(package)
    except PackageNotFoundError:
        return "none"


def digest_of_files(*paths: Traversable) -> str:
    """Return 12 hexadecimal digits of the SHA-256 of the files' contents, in the given order."""
    digest = hashlib.sha256()
    for path in paths:
        digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()[:12]
