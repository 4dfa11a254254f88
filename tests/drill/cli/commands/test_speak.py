"""The command speak with recordings in files."""

import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from drill.cli import main
from drill.core.audio_files import read_audio, write_audio
from drill.core.paths import record_file
from drill.records.store import Store
from drill.sending.prompts import PROMPT_KINDS, compose_prompt
from drill.voices.operators import find_operator
from tests.drill.cli.speaking import replace_far_end
from tests.drill.sending.takes import own_station
from tests.tools.defects import DEFECTS, spoil_take

REVIEW = ["speak", "--call", "E87ABC", "--prompt", "call", "--seed", "4", "--take"]


@pytest.fixture(scope="module")
def take(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a file with a correct take of the prompt of REVIEW."""
    path = tmp_path_factory.mktemp("takes") / "take.flac"
    prompt = compose_prompt("call", own_station(), 4)
    write_audio(path, spoil_take(prompt, find_operator("slate"), DEFECTS["none"], 4).clip)
    return path


@pytest.mark.usefixtures("home")
def test_a_take_is_reviewed_kept_and_sent_to_the_far_end(
    take: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folders = ["--audio-to", str(tmp_path / "far"), "--keep-takes", str(tmp_path / "kept")]
    assert main([*REVIEW, str(take), *folders]) == 0
    out = capsys.readouterr().out
    assert "Recognised: echo eight seven alfa bravo charlie." in out
    assert "Everything was said correctly." in out
    assert "100 W, SNR 10.0 dB" in out
    assert "not a human listener's score" in out
    assert not set("\r\x1b\t") & set(out)
    names = {path.name for path in (tmp_path / "far").iterdir()}
    assert {"take-100w.wav", "take-20w.wav", "take-5w.wav", "meadow-5w.wav"} <= names
    (kept,) = (tmp_path / "kept").iterdir()
    assert np.array_equal(read_audio(kept).samples, read_audio(take).samples)
    with Store(record_file()) as store:
        assert len(store.takes()) == 1
        assert store.setting("own-call") == "E87ABC"


@pytest.mark.usefixtures("home")
def test_a_take_is_compared_with_the_last_one_of_the_same_prompt(
    take: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        replace_far_end(patch)
        assert main([*REVIEW, str(take)]) == 0
        capsys.readouterr()
        # The call is stored now.
        assert main(["speak", "--prompt", "call", "--seed", "4", "--take", str(take)]) == 0
    assert "Compared with your last take of the same prompt" in capsys.readouterr().out
    # The same recording does not fit another call: neither an earlier take nor the reference voice
    # can be compared.
    other_call = ["speak", "--call", "X69QGW", "--prompt", "call", "--seed", "4"]
    assert main([*other_call, "--take", str(take)]) == 0
    out = capsys.readouterr().out
    assert "Compared with" not in out
    assert "Most of the prompt is missing" in out


@pytest.mark.usefixtures("home")
def test_the_report_includes_takes(
    take: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    replace_far_end(monkeypatch)
    assert main([*REVIEW, str(take)]) == 0
    assert main(["report", "--to", str(tmp_path / "report")]) == 0
    page = (tmp_path / "report" / "report.html").read_text("utf-8")
    assert "Your own sending" in page
    assert "Said correctly to the end: 1 of 1 take." in page
    assert (tmp_path / "report" / "spoken.png").stat().st_size > 1000
    assert (tmp_path / "report" / "spoken.csv").read_text("utf-8").startswith("day,takes")


def test_the_kinds_of_prompts_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["speak", "--list"]) == 0
    listed = capsys.readouterr().out
    assert all(f"  {kind} " in listed for kind in PROMPT_KINDS)


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("silence", "silent"),
        ("0.1 s", "lasts 0.1"),
        ("text", "not an audio file"),
        ("no file", "does not exist"),
    ],
)
def test_an_unusable_recording_is_refused_in_one_line(
    content: str, message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "take.wav"
    if content == "text":
        path.write_text("this is not audio")
    elif content != "no file":
        samples = np.full(1600, 0.1) if content == "0.1 s" else np.zeros(32_000)
        soundfile.write(path, samples, 16_000)
    assert main([*REVIEW, str(path)]) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--call", "HELLO"], "own call: 'HELLO'"),
        (["--call", "E87ABC", "--exchange", "nothing"], "unknown exchange 'nothing'"),
        (["--call", "E87ABC", "--prompt", "song"], "prompt 'song' is unknown"),
        (["--call", "E87ABC", "--conditions", "gale"], "conditions preset 'gale' is unknown"),
        (
            ["--call", "E87ABC", "--path-snr", "900"],
            "at 100 W, SNR 900 dB is out of range; allowed are",
        ),
        (["--call", "E87ABC", "--take", "x.wav"], "--seed"),
        ([], "your own call is not set"),
    ],
)
def test_a_bad_option_is_refused_in_one_line(
    options: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["speak", *options]) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1


@pytest.mark.usefixtures("home")
def test_a_missing_recogniser_is_reported_with_the_remedy(
    take: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from drill.recogniser.sphinx import PocketSphinxRecogniser

    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    monkeypatch.setattr(
        "drill.sending.enrolled_voices.find_recogniser", lambda name: PocketSphinxRecogniser()
    )
    assert main([*REVIEW, str(take)]) == 1
    assert "pip install pocketsphinx" in capsys.readouterr().err
