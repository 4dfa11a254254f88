"""The reference renders in audio_fixtures: rendering them again gives the same audio."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from drill.core.models import Item
from drill.core.structuring import from_data
from drill.items.render import receive_item
from drill.itemsets.write import manifest_entry
from drill.radio.receiver import LIMITER_CEILING_DB
from phonetics.callsigns import is_valid_callsign

FOLDER = Path(__file__).parents[2] / "audio_fixtures"
Entry = dict[str, Any]
ENTRIES: list[Entry] = [
    json.loads(line) for line in (FOLDER / "manifest.jsonl").read_text("utf-8").splitlines()
]


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry["file"])
def test_rendering_again_gives_the_file_and_its_manifest_entry(entry: Entry) -> None:
    samples, rate_hz = soundfile.read(FOLDER / entry["file"], dtype="float32")
    item = from_data(Item, entry["item"])
    audio = receive_item(item)
    assert audio.clip.rate_hz == rate_hz
    # Rounding to 16 bits causes a difference of up to half a step.
    assert np.max(np.abs(audio.clip.samples - samples)) <= 1.5 / 32768
    again = manifest_entry(item, audio, number=entry["number"], file=entry["file"])
    assert {**again, "version": entry["version"]} == entry


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry["file"])
def test_the_audio_is_limited_and_the_call_is_assigned_to_nobody(entry: Entry) -> None:
    samples, _ = soundfile.read(FOLDER / entry["file"])
    assert np.max(np.abs(samples)) <= 10 ** (LIMITER_CEILING_DB / 20) + 1 / 32768
    assert not is_valid_callsign(entry["fields"]["call"])


def test_the_readme_lists_every_file() -> None:
    readme = (FOLDER / "README.md").read_text()
    listed = re.findall(r"^\| `([\w-]+\.flac)`", readme, re.MULTILINE)
    files = {path.name for path in FOLDER.glob("*.flac")}
    assert set(listed) == {entry["file"] for entry in ENTRIES} == files
