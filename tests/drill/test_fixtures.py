"""The reference renders in audio_fixtures: a new render gives them again."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
import soundfile

from drill.core.models import Item
from drill.core.structuring import from_data
from drill.items.render import render
from drill.radio.receiver import LIMITER_CEILING_DB
from phonetics.callsigns import is_valid

FOLDER = Path(__file__).parents[2] / "audio_fixtures"
ROWS = [json.loads(line) for line in (FOLDER / "manifest.jsonl").read_text("utf-8").splitlines()]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["file"])
def test_a_new_render_is_the_file(row: dict) -> None:  # type: ignore[type-arg]
    kept, rate_hz = soundfile.read(FOLDER / row["file"], dtype="float32")
    item = from_data(Item, row["item"])
    new = render(item)
    assert new.rate_hz == rate_hz
    # Half a step is what the file's rounding alone makes of it.
    assert np.max(np.abs(new.samples - kept)) <= 1.5 / 32768


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["file"])
def test_the_file_is_limited_and_its_call_is_nobodys(row: dict) -> None:  # type: ignore[type-arg]
    kept, _ = soundfile.read(FOLDER / row["file"])
    assert np.max(np.abs(kept)) <= 10 ** (LIMITER_CEILING_DB / 20) + 1 / 32768
    assert not is_valid(row["fields"]["call"])


def test_the_readme_has_a_line_a_file() -> None:
    named = re.findall(r"^\| `([\w-]+\.flac)`", (FOLDER / "README.md").read_text(), re.MULTILINE)
    assert set(named) == {row["file"] for row in ROWS} == {p.name for p in FOLDER.glob("*.flac")}
