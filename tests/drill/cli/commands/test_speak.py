"""faintcall speak: the command, on files, as a user would give them."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from drill.cli import main
from drill.core.audio_files import read_audio, write_audio
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.records.store import Store
from drill.sending.prompts import KINDS, prompt, station
from drill.voices.operators import find_operator
from phonetics.exchanges import load_exchange
from tests.tools.defects import DEFECTS, spoilt

ASKED = ["speak", "--call", "E87ABC", "--prompt", "call", "--seed", "4"]


@pytest.fixture(scope="module")
def take(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("takes") / "take.flac"
    asked = prompt("call", station("E87ABC", load_exchange("serial")), 4)
    write_audio(path, spoilt(asked, find_operator("slate"), DEFECTS["none"], 4).clip)
    return path


@pytest.mark.usefixtures("home")
def test_a_take_is_reviewed_kept_and_sent(
    take: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folders = ["--audio-to", str(tmp_path / "far"), "--keep-takes", str(tmp_path / "kept")]
    assert main([*ASKED, "--take", str(take), *folders]) == 0
    out = capsys.readouterr().out
    assert "Heard: echo eight seven alfa bravo charlie." in out
    assert "All of it was said." in out
    assert "100 W, SNR 10.0 dB" in out
    assert "no human score" in out
    assert not set("\r\x1b\t") & set(out)
    names = {path.name for path in (tmp_path / "far").iterdir()}
    assert {"take-100w.wav", "take-20w.wav", "take-5w.wav", "meadow-5w.wav"} <= names
    (kept,) = (tmp_path / "kept").iterdir()
    assert np.array_equal(read_audio(kept).samples, read_audio(take).samples)
    with Store(record_file()) as store:
        assert len(store.takes()) == 1
        assert store.setting("own-call") == "E87ABC"
    assert main(["speak", "--prompt", "call", "--seed", "4", "--take", str(take)]) == 0
    assert "Against your last take of the same" in capsys.readouterr().out
    # Another call: nothing to hold it against, neither a take nor the voice.
    other = ["speak", "--call", "X69QGW", "--prompt", "call", "--seed", "4", "--take", str(take)]
    assert main(other) == 0
    out = capsys.readouterr().out
    assert "Against" not in out
    assert "It is not what was asked for" in out


@pytest.mark.usefixtures("home")
def test_a_report_tells_of_takes(
    take: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*ASKED, "--take", str(take)]) == 0
    assert main(["report", "--to", str(tmp_path / "report")]) == 0
    page = (tmp_path / "report" / "report.html").read_text("utf-8")
    assert "Your own sending" in page
    assert "1 of 1 takes were said rightly" in page
    assert (tmp_path / "report" / "spoken.png").stat().st_size > 1000
    assert (tmp_path / "report" / "spoken.csv").read_text("utf-8").startswith("day,takes")


def test_the_kinds_of_prompts_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["speak", "--list"]) == 0
    listed = capsys.readouterr().out
    assert all(f"  {kind} " in listed for kind in KINDS)


def sound(path: Path, samples: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> Path:
    soundfile.write(path, samples, 16_000)
    return path


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize(
    ("what", "why"),
    [
        ("silent", "silent"),
        ("short", "lasts 0.1"),
        ("text", "not an audio file"),
        ("none", "does not exist"),
    ],
)
def test_a_bad_take_is_told_in_a_line(
    what: str, why: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "take.wav"
    if what == "text":
        path.write_text("no sound at all")
    elif what != "none":
        sound(path, np.full(1600, 0.1) if what == "short" else np.zeros(32_000))
    assert main([*ASKED, "--take", str(path)]) == 2
    err = capsys.readouterr().err
    assert why in err
    assert err.count("\n") == 1


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize(
    ("more", "why"),
    [
        (["--call", "HELLO"], "own call"),
        (["--call", "E87ABC", "--exchange", "nothing"], "no exchange"),
        (["--call", "E87ABC", "--prompt", "song"], "no prompt 'song'"),
        (["--call", "E87ABC", "--conditions", "gale"], "no conditions"),
        (["--call", "E87ABC", "--take", "x.wav"], "--seed"),
        ([], "own call is not known"),
    ],
)
def test_bad_options_are_told(
    more: list[str], why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["speak", *more]) == 2
    assert why in capsys.readouterr().err


@pytest.mark.usefixtures("home")
def test_without_a_recogniser_the_remedy_is_told(
    take: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import sys

    from drill import recogniser
    from drill.recogniser.sphinx import PocketSphinxRecogniser

    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    monkeypatch.setattr(recogniser, "find_recogniser", PocketSphinxRecogniser)
    monkeypatch.setattr("drill.sending.review.find_recogniser", PocketSphinxRecogniser)
    assert main([*ASKED, "--take", str(take)]) == 1
    assert "pip install pocketsphinx" in capsys.readouterr().err


def test_two_channels_are_read_as_one(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "two.wav", np.array([[0.5, 0.0]] * 100), 16_000)
    assert np.allclose(read_audio(tmp_path / "two.wav").samples, 0.25, atol=1e-4)
    write_audio(tmp_path / "one.wav", Clip(samples=np.zeros(10, np.float32), rate_hz=8_000))
    assert read_audio(tmp_path / "one.wav").rate_hz == 8_000
