"""Sets of items as files: manifest, sheet, repeatability, going on after a stop."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
import soundfile

from drill.cli import main
from drill.core.models import Item
from drill.core.structuring import from_data
from drill.items.render import render
from drill.radio.channel import LEAD_IN_S

SET = ["render", "--seed", "7", "--mix", "unassigned"]


def rows(folder: Path) -> list[dict]:  # type: ignore[type-arg]
    return [json.loads(line) for line in (folder / "manifest.jsonl").read_text().splitlines()]


def make(folder: Path, *words: str) -> int:
    return main([*SET, "--to", str(folder), *words])


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a set of whole overs in fading."""
    folder = tmp_path_factory.mktemp("set")
    words = ["--items", "4", "--part", "over", "--snr", "-3", "--fading", "mid-moderate"]
    assert make(folder, *words, "--workers", "1") == 0
    return folder


def test_the_manifest_has_a_line_an_item(made: Path) -> None:
    found = rows(made)
    assert [row["number"] for row in found] == [1, 2, 3, 4]
    for row in found:
        sound = soundfile.info(made / row["file"])
        assert sound.subtype == "PCM_16"
        assert sound.channels == 1
        assert sound.samplerate == row["rate_hz"]
        assert sound.duration == pytest.approx(row["seconds"], abs=1e-3)
        assert row["snr_db"] == -3
        fading = row["conditions"]["fading"]
        assert (fading["name"], fading["delay_ms"], fading["spread_hz"]) == ("mid-moderate", 1, 0.5)
        assert row["delivered_snr_db"] == row["snr_db"]
        assert row["truth"] == " ".join(row["fields"].values())
        assert row["voice"] == row["item"]["operator"]["name"]


def test_words_stand_in_order_inside_the_sound_and_carry_the_truth(made: Path) -> None:
    for row in rows(made):
        times = [(word["start_s"], word["end_s"]) for word in row["words"]]
        assert times[0][0] >= LEAD_IN_S - 0.05
        assert times[-1][1] <= row["seconds"]
        assert all(start < end for start, end in times)
        assert times == sorted(times)
        said = "".join(w["means"] for w in row["words"] if w["field"] == "call")
        assert row["fields"]["call"] in said


def test_words_sound_where_the_manifest_says(tmp_path: Path) -> None:
    """Clean: there is far more power inside the words than before the first and after the last."""
    assert make(tmp_path, "--items", "3", "--snr", "clean") == 0
    for row in rows(tmp_path):
        samples, rate_hz = soundfile.read(tmp_path / row["file"])
        first, last = row["words"][0]["start_s"], row["words"][-1]["end_s"]
        inside = samples[round(first * rate_hz) : round(last * rate_hz)]
        before = samples[: round((first - 0.1) * rate_hz)]
        after = samples[round((last + 0.1) * rate_hz) :]
        for outside in (before, after):
            assert np.mean(outside**2) < np.mean(inside**2) / 1000


def test_the_manifest_alone_renders_an_item_again(made: Path) -> None:
    row = rows(made)[2]
    again = render(from_data(Item, row["item"]))
    heard, _ = soundfile.read(made / row["file"], dtype="float32")
    assert np.max(np.abs(again.samples - heard)) <= 1 / 32768


def test_the_same_seed_gives_the_same_bytes(made: Path, tmp_path: Path) -> None:
    """In worker processes too, with the speech made again."""
    words = ["--items", "4", "--part", "over", "--snr", "-3", "--fading", "mid-moderate"]
    assert make(tmp_path, *words, "--workers", "1") == 0
    for path in sorted(made.iterdir()):
        assert (tmp_path / path.name).read_bytes() == path.read_bytes(), path.name


@pytest.mark.slow
def test_worker_processes_give_the_same_bytes_as_one(tmp_path: Path, home: Path) -> None:
    for name, workers in (("one", "1"), ("two", "2")):
        assert make(tmp_path / name, "--items", "16", "--workers", workers) == 0
    for path in sorted((tmp_path / "one").iterdir()):
        assert (tmp_path / "two" / path.name).read_bytes() == path.read_bytes(), path.name


def test_a_stopped_run_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from drill.itemsets import write

    whole = tmp_path / "whole"
    assert make(whole, "--items", "4") == 0
    calls: list[int] = []
    real = write._make

    def interrupted(*given: object) -> str:
        calls.append(1)
        if len(calls) == 3:
            raise KeyboardInterrupt
        return real(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(write, "_make", interrupted)
    assert make(tmp_path / "cut", "--items", "4", "--workers", "1") == 130
    assert "what was finished is kept" in capsys.readouterr().err
    assert [row["number"] for row in rows(tmp_path / "cut")] == [1, 2]
    with (tmp_path / "cut" / "manifest.jsonl").open("a") as out:
        out.write('{"number": 3, "fi')  # a line that a kill cut off
    calls.clear()
    monkeypatch.setattr(write, "_make", real)
    assert make(tmp_path / "cut", "--items", "4", "--workers", "1") == 0
    for path in sorted(whole.iterdir()):
        assert (tmp_path / "cut" / path.name).read_bytes() == path.read_bytes(), path.name


def test_another_set_is_not_mixed_in(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert make(tmp_path, "--items", "1") == 0
    before = (tmp_path / "manifest.jsonl").read_bytes()
    capsys.readouterr()
    assert make(tmp_path, "--items", "1", "--snr", "5") == 2
    assert re.fullmatch(r"faintcall: .* holds another set .*\n", capsys.readouterr().err)
    assert (tmp_path / "manifest.jsonl").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--format", "mp3"], "format 'mp3' is unknown"),
        (["--workers", "-2"], "-2 workers"),
        (["--items", "-1"], "count -1 is out of range"),
    ],
)
def test_bad_choices(
    words: list[str], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert make(tmp_path / "set", *words) == 2
    assert told in capsys.readouterr().err


def test_wav_is_written_too(tmp_path: Path) -> None:
    assert make(tmp_path, "--items", "1", "--format", "wav") == 0
    assert soundfile.info(tmp_path / "item-0001.wav").format == "WAV"


def test_the_sheet_keeps_the_key_on_a_page_of_its_own(made: Path) -> None:
    page = (made / "sheet.html").read_text("utf-8")
    blank, key = page.split("<h2>Key</h2>")
    for row in rows(made):
        assert f"<code>{row['fields']['call']}</code>" in key
        assert row["fields"]["call"] not in blank
    assert "break-before: page" in blank
    assert "fictional" in blank
    assert "on the air" in blank
