"""Versions and digests that go into the version of an engine."""

from itertools import count
from pathlib import Path

import numpy as np

from drill.voices.versions import digest_of_tables, installed_version


def test_the_version_of_a_package_is_that_of_its_metadata() -> None:
    assert installed_version("numpy") == np.__version__
    assert installed_version("no-such-package") == "none"


def test_a_digest_depends_on_values_and_not_on_comments(tmp_path: Path) -> None:
    numbers = count()

    def digest(text: str) -> str:
        path = tmp_path / f"{next(numbers)}.toml"
        path.write_text(text, "utf-8")
        return digest_of_tables(path)

    table = 'a = 1\nb = ["x", "y"]\n'
    assert digest(table) == digest("# comment\n" + table)
    assert digest(table) == digest('b = ["x", "y"]\na = 1\n')
    assert digest(table) != digest(table.replace("1", "2"))
    assert digest(table) != digest(table.replace('"x", "y"', '"y", "x"'))
