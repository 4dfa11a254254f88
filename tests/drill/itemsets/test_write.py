"""Item sets as files: manifest, repeatability, continuing after an interruption."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Item
from drill.core.structuring import from_data
from drill.items.plan import Plan
from drill.items.render import render
from drill.itemsets import write
from drill.itemsets.write import write_item_set
from drill.radio.channel import LEAD_IN_S
from drill.radio.presets import parse_fading

CALLS = Plan(seed=7, count=4, mix="unassigned")
FADING = parse_fading("mid-moderate")
OVERS = Plan(
    seed=7,
    count=4,
    mix="unassigned",
    part="over",
    conditions=Conditions(snr_db=-3, fading=FADING),
)


def write_all(plan: Plan, folder: Path, *, workers: int = 1, format_name: str = "flac") -> None:
    counts = list(write_item_set(plan, folder, format_name=format_name, workers=workers))
    assert counts == list(range(counts[0], plan.count + 1))


def manifest(folder: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (folder / "manifest.jsonl").read_text().splitlines()]


def assert_same_files(folder: Path, other: Path) -> None:
    names = sorted(path.name for path in folder.iterdir())
    assert names == sorted(path.name for path in other.iterdir())
    for name in names:
        assert (folder / name).read_bytes() == (other / name).read_bytes(), name


@pytest.fixture(scope="module")
def overs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a set of four whole overs in fading."""
    folder = tmp_path_factory.mktemp("overs")
    write_all(OVERS, folder)
    return folder


def test_the_manifest_describes_every_file(overs: Path) -> None:
    """Outside check: libsndfile reads width, rate and length."""
    entries = manifest(overs)
    assert [entry["number"] for entry in entries] == [1, 2, 3, 4]
    for entry in entries:
        info = soundfile.info(overs / entry["file"])
        assert (info.subtype, info.channels) == ("PCM_16", 1)
        assert info.samplerate == entry["rate_hz"]
        assert info.duration == pytest.approx(entry["seconds"], abs=1e-3)
        assert entry["snr_db"] == entry["delivered_snr_db"] == -3
        fading = entry["conditions"]["fading"]
        assert (fading["name"], fading["delay_ms"], fading["spread_hz"]) == ("mid-moderate", 1, 0.5)
        assert entry["truth"] == " ".join(entry["fields"].values())
        assert entry["voice"] == entry["item"]["operator"]["name"]


def test_words_come_in_order_within_the_audio_and_carry_the_truth(overs: Path) -> None:
    for entry in manifest(overs):
        times = [(word["start_s"], word["end_s"]) for word in entry["words"]]
        assert times[0][0] >= LEAD_IN_S - 0.05
        assert times[-1][1] <= entry["seconds"]
        assert all(start < end for start, end in times)
        assert times == sorted(times)
        meaning = "".join(word["means"] for word in entry["words"] if word["field"] == "call")
        assert entry["fields"]["call"] in meaning


def test_words_sound_at_the_times_of_the_manifest(tmp_path: Path) -> None:
    """Without noise, the power before the first and after the last word is 30 dB lower."""
    plan = Plan(seed=7, count=3, mix="unassigned", conditions=Conditions(snr_db=None))
    write_all(plan, tmp_path)
    for entry in manifest(tmp_path):
        samples, rate_hz = soundfile.read(tmp_path / entry["file"])
        first, last = entry["words"][0]["start_s"], entry["words"][-1]["end_s"]
        inside = samples[round(first * rate_hz) : round(last * rate_hz)]
        before = samples[: round((first - 0.1) * rate_hz)]
        after = samples[round((last + 0.1) * rate_hz) :]
        for outside in (before, after):
            assert np.mean(outside**2) < np.mean(inside**2) / 1000


def test_an_entry_suffices_to_render_its_item_again(overs: Path) -> None:
    entry = manifest(overs)[2]
    again = render(from_data(Item, entry["item"]))
    samples, _ = soundfile.read(overs / entry["file"], dtype="float32")
    assert np.max(np.abs(again.samples - samples)) <= 1 / 32768


def test_the_same_plan_gives_the_same_bytes(overs: Path, tmp_path: Path, home: Path) -> None:
    """The cache of this test's own home is empty, so the speech is synthesised again."""
    write_all(OVERS, tmp_path / "again")
    assert_same_files(tmp_path / "again", overs)


@pytest.mark.slow
def test_worker_processes_give_the_same_bytes_as_one(tmp_path: Path, home: Path) -> None:
    plan = Plan(seed=7, count=16, mix="unassigned")
    write_all(plan, tmp_path / "one", workers=1)
    write_all(plan, tmp_path / "two", workers=2)
    assert_same_files(tmp_path / "one", tmp_path / "two")


def test_an_interrupted_run_continues_where_it_stopped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole, cut = tmp_path / "whole", tmp_path / "cut"
    write_all(CALLS, whole)
    counts = write_item_set(CALLS, cut, workers=1)
    assert [next(counts) for _ in range(3)] == [0, 1, 2]
    counts.close()
    assert [entry["number"] for entry in manifest(cut)] == [1, 2]
    with (cut / "manifest.jsonl").open("a") as out:
        out.write('{"number": 3, "fi')  # a line that a killed process cut off
    rendered: list[int] = []
    render_to_file = write._render_to_file

    def counted(plan: Plan, number: int, folder: Path, format_name: str) -> str:
        rendered.append(number)
        return render_to_file(plan, number, folder, format_name)

    monkeypatch.setattr(write, "_render_to_file", counted)
    assert list(write_item_set(CALLS, cut, workers=1)) == [2, 3, 4]
    assert rendered == [2, 3]
    assert_same_files(cut, whole)


def test_an_item_whose_audio_is_gone_is_rendered_again(tmp_path: Path) -> None:
    write_all(CALLS, tmp_path)
    before = (tmp_path / "item-0002.flac").read_bytes()
    (tmp_path / "item-0002.flac").unlink()
    assert list(write_item_set(CALLS, tmp_path, workers=1)) == [1, 2, 3, 4]
    assert (tmp_path / "item-0002.flac").read_bytes() == before


@pytest.mark.parametrize(
    ("name", "content"), [("plan.json", "{"), ("plan.json", "{}"), ("manifest.jsonl", "")]
)
def test_a_folder_with_something_else_is_refused(name: str, content: str, tmp_path: Path) -> None:
    (tmp_path / name).write_text(content)
    with pytest.raises(UserError, match=r"something else|another set") as caught:
        next(write_item_set(CALLS, tmp_path))
    assert "\n" not in str(caught.value)
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text() == content


def test_another_plan_does_not_change_a_set(overs: Path) -> None:
    before = (overs / "manifest.jsonl").read_bytes()
    with pytest.raises(UserError, match="another set"):
        next(write_item_set(CALLS, overs))
    assert (overs / "manifest.jsonl").read_bytes() == before


def test_wav_files_are_written_on_request(tmp_path: Path) -> None:
    write_all(Plan(seed=7, count=1), tmp_path, format_name="wav")
    assert soundfile.info(tmp_path / "item-0001.wav").format == "WAV"


def test_another_format_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="format 'mp3' is unknown; choose one of flac, wav"):
        next(write_item_set(CALLS, tmp_path / "set", format_name="mp3"))
    assert not (tmp_path / "set").exists()
