"""faintcall listen: what it prints, draws and writes."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from drill.cli import main
from drill.core.errors import NoSoundCard

FIXED_OVER = ["--mix", "unassigned", "--voices", "tin,wren", "--seed", "3"]


@pytest.fixture(autouse=True)
def caution_confirmed(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Confirm the caution before the first sound."""
    monkeypatch.setattr("builtins.input", lambda prompt="": "")


@pytest.fixture
def listen(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """Return a function that runs the command with options and returns its output."""

    def run(*options: str) -> str:
        folder = str(tmp_path / "sounds")
        assert main(["listen", "--audio-to", folder, *FIXED_OVER, *options]) == 0
        return capsys.readouterr().out

    return run


def line_of(name: str, out: str) -> str:
    """Return the first line about one of the two overs."""
    return next(line for line in out.splitlines() if line.startswith(f"{name}, "))


def test_a_and_b_differ_by_the_stage_alone(listen: Callable[..., str], tmp_path: Path) -> None:
    options = ("--conditions", "busy-weekend", "--without", "neighbours")
    out = listen(*options)
    assert line_of("A", out).startswith("A, as chosen: SNR")
    assert line_of("B", out).startswith("B, without neighbours: SNR")
    sounds = [soundfile.read(tmp_path / "sounds" / f"{name}.wav")[0] for name in "AB"]
    assert len(sounds[0]) == len(sounds[1])
    assert not np.array_equal(*sounds)
    again = listen(*options)
    assert again in out  # the first output also contains the caution
    for name, before in zip("AB", sounds, strict=True):
        assert np.array_equal(soundfile.read(tmp_path / "sounds" / f"{name}.wav")[0], before)


def test_the_gain_of_processing_is_printed(listen: Callable[..., str]) -> None:
    out = listen("--snr", "3", "--processing", "clipped", "--without", "processing")
    assert "dB of it from speech processing" in line_of("A", out)
    assert "SNR 3.0 dB in 3 kHz; PEP 1" in line_of("B", out)


def test_a_picture_is_drawn_and_described(listen: Callable[..., str], tmp_path: Path) -> None:
    picture = tmp_path / "it.png"
    out = listen("--conditions", "aurora", "--picture", str(picture))
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert "fading from" in out
    assert f"The picture is in {picture}" in out


@pytest.mark.parametrize(
    ("name", "message"), [("it.jpg", "is not a PNG file"), ("no/it.png", "cannot be written")]
)
def test_a_picture_that_cannot_be_written_ends_in_one_line(
    name: str, message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    options = [*FIXED_OVER, "--audio-to", str(tmp_path), "--picture", str(tmp_path / name)]
    assert main(["listen", *options]) == 2
    line = capsys.readouterr().err.strip()
    assert message in line
    assert "\n" not in line


def test_a_picture_needs_no_sound_card(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(_: Path | None) -> None:
        raise NoSoundCard("No sound: no output device; connect one")

    monkeypatch.setattr("drill.cli.commands.listen.open_output", fail)
    picture = tmp_path / "it.png"
    assert main(["listen", *FIXED_OVER, "--picture", str(picture)]) == 0
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert capsys.readouterr().out.endswith("No sound: no output device; connect one.\n")
    assert main(["listen", *FIXED_OVER]) == 1
