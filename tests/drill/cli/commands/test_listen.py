"""faintcall listen: what is told, drawn, written; and a session in a real terminal."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from drill.cli import main
from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.items.plan import Plan, compose_item
from drill.listen.plot import Panel, draw, fading_db, levels_db
from drill.radio import AUDIO_RATE_HZ
from drill.radio.presets import parse_fading, load_preset

SAID = ["--mix", "unassigned", "--voices", "tin,wren", "--seed", "3"]


@pytest.fixture
def listen(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> "object":
    """Return a function that runs the command and returns what it printed."""
    monkeypatch.setattr("builtins.input", lambda prompt="": "")

    def run(*words: str) -> str:
        out = str(tmp_path / "sounds")
        assert main(["listen", "--audio-to", out, *SAID, *words]) == 0
        return capsys.readouterr().out

    return run


def test_a_and_b_differ_by_the_stage_alone(listen, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    out = listen("--conditions", "busy-weekend", "--without", "neighbours")
    assert "A, as it is: SNR" in out
    assert "B, without neighbours: SNR" in out
    sounds = [soundfile.read(tmp_path / "sounds" / f"{name}.wav")[0] for name in "AB"]
    assert len(sounds[0]) == len(sounds[1])
    assert not np.array_equal(*sounds)
    # B is what the same item gives where nobody else is on.
    again = listen("--conditions", "busy-weekend", "--without", "neighbours")
    assert again.replace("Press", "") in out


def test_processing_is_reported(listen) -> None:  # type: ignore[no-untyped-def]
    out = listen("--snr", "3", "--processing", "clipped", "--without", "processing")
    first, second = (line for line in out.splitlines() if line[:2] in ("A,", "B,"))
    assert "dB of it by processing" in first
    assert "SNR 3.0 dB in 3 kHz; the station's PEP is 1" in second


def test_the_picture_is_drawn_and_told(listen, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    picture = tmp_path / "it.png"
    out = listen("--conditions", "aurora", "--picture", str(picture))
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert "fading from" in out
    assert f"The picture is in {picture}" in out


def test_a_picture_of_another_kind_is_refused(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("builtins.input", lambda prompt="": "")
    words = ["listen", *SAID, "--audio-to", str(tmp_path), "--picture"]
    assert main([*words, str(tmp_path / "it.jpg")]) == 2
    assert "has to be a .png file" in capsys.readouterr().err
    assert main([*words, str(tmp_path / "no" / "it.png")]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_the_fading_drawn_is_the_one_heard() -> None:
    """A tone through the path has the envelope that the picture shows."""
    from drill.radio.channel import Channel

    wanted = Conditions(snr_db=None, fading=parse_fading("mid-disturbed"))
    carrier = np.full(40_000, np.sqrt(2), np.complex64)
    path = Channel(wanted, 9, linear=True)
    sound = np.concatenate([path.process(carrier), path.finish()]).astype(np.float64)
    power = np.mean(sound[: len(sound) // 1600 * 1600].reshape(-1, 1600) ** 2, axis=1)
    drawn = fading_db(wanted, 9, 10.0).reshape(-1, 400)
    strong = drawn.min(axis=1) > -15
    shown = 10 * np.log10(np.mean(10 ** (drawn / 10), axis=1))
    assert np.max(np.abs(10 * np.log10(power) - shown)[strong][1:-1]) < 0.2


def test_levels_are_those_of_the_sound() -> None:
    sine = 0.1 * np.sqrt(2) * np.sin(2 * np.pi * 1000 * np.arange(16_000) / AUDIO_RATE_HZ)
    levels = levels_db(Clip(samples=sine.astype(np.float32), rate_hz=AUDIO_RATE_HZ))
    assert levels == pytest.approx(np.full(50, -20.0), abs=0.01)


def noise_panel() -> Panel:
    item = compose_item(Plan(seed=1, count=1, mix="unassigned"), 0)
    noise = np.random.default_rng(1).normal(0, 0.05, 32_000).astype(np.float32)
    clip = Clip(samples=noise, rate_hz=AUDIO_RATE_HZ)
    return Panel(title="one", clip=clip, conditions=load_preset("plain").conditions, seed=item.seed)


def test_a_panel_a_sound(tmp_path: Path) -> None:
    (told,) = draw(tmp_path / "a.png", [noise_panel()])
    assert told.startswith("one: 2.0 s; levels -27, -26 and -26 dB")
    assert told.endswith("no fading.")
