"""Calls in documents, examples and fixtures belong to nobody: they cannot have been assigned."""

import re
import subprocess
from pathlib import Path

import pytest

from phonetics.callsigns import IRREGULAR_PREFIXES, is_valid_callsign, parse_callsign

ROOT = Path(__file__).parents[1]
SUFFIXES = {".md", ".py", ".txt", ".js", ".html", ".toml", ".jsonl", ".json", ".csv"}
EXCEPTIONS = {
    # The rules of Article 19 are tested with prefixes of every kind.
    "tests/outside/test_article19.py": {"W1QR", "W1SOS", "W1Q"},
    # The shortest possible call.
    "tests/drill/contact/test_notes.py": {"K1A"},
    "tests/drill/contact/test_understanding.py": {"K1A"},
    # The real call that a person says in published recordings.
    "tests/outside/human_recordings.py": {"KA9Q"},
    # Words that look like calls, or that are typed when no call was heard.
    "phonetics/field_values.py": {"FF5E"},
    "drill/web/security.py": {"W3C"},
    "drill/voices/engines/natural/pronounce.py": {"G2P"},
    "tests/phonetics/test_field_values.py": {"N14X", "JO3I"},
}
RELEASED = {"attempts-0.2.0.jsonl", "sessions_of_0_2_0.json"}
"""Data written by version 0.2.0, which followed other rules; no user ever sees it."""
CALL = re.compile(r"(?<![A-Za-z0-9/])[A-Z0-9]{1,3}[0-9][A-Z]{1,4}(?![A-Za-z0-9?])")


def tracked_files() -> list[Path]:
    """Return the files of the repository that hold text; skip without git."""
    try:
        output = subprocess.run(
            ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("needs a git checkout")
    paths = [ROOT / name for name in output.splitlines()]
    return [
        path
        for path in paths
        if path.suffix in SUFFIXES and path.name not in RELEASED and path.is_file()
    ]


def is_assignable(text: str) -> bool:
    """Return whether a call could be assigned, or has a prefix that was on the air."""
    if is_valid_callsign(text):
        return True
    try:
        return parse_callsign(text).prefix in IRREGULAR_PREFIXES
    except ValueError:
        return False


def test_no_example_call_can_be_assigned() -> None:
    found = {}
    for path in set(tracked_files()) - {Path(__file__)}:
        name = path.relative_to(ROOT).as_posix()
        calls = {call for call in CALL.findall(path.read_text("utf-8")) if is_assignable(call)}
        if calls - EXCEPTIONS.get(name, set()):
            found[name] = sorted(calls - EXCEPTIONS.get(name, set()))
    assert not found


@pytest.mark.parametrize("call", ["T98EHZ", "4N5MR", "U30WL", "VK3FS"])
def test_the_check_finds_calls_that_are_or_were_used(call: str) -> None:
    assert is_assignable(call)
    assert CALL.fullmatch(call)
