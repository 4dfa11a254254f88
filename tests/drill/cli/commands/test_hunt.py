"""faintcall hunt with typed lines: time passes turn by turn, and the sound is written."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import soundfile

from drill.cli import main
from drill.cli.commands import hunt
from drill.core.paths import record_file
from drill.hunt.sessions import HuntSession
from drill.records.store import Store
from tests.drill.cli.fake_microphone import type_lines
from tests.drill.hunt.sounding import NoiseSpeech, ten_minutes

HUNT = [
    *("hunt", "--call", "E87ABC", "--own-voice", "rivet", "--voices", "rivet", "--seed", "5"),
    *("--mix", "unassigned", "--minutes", "10"),
]


@pytest.fixture(autouse=True)
def speech(monkeypatch: pytest.MonkeyPatch) -> NoiseSpeech:
    noise = NoiseSpeech()
    monkeypatch.setattr(hunt, "shared_worker_speech", lambda: noise)
    return noise


def run_hunt(sounds: Path, *words: str) -> int:
    return main([*HUNT, "--audio-to", str(sounds), *words])


def test_lines_tune_note_speak_and_log(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = ["", "up 2", "oh2qrk 081", "m", "", "l", "oh2qrk", "r dl4qrb", "r9 x", "r", "k strong"]
    type_lines(monkeypatch, *lines, "q", "to 7000", "i", "", "s")
    assert run_hunt(sounds) == 0
    output = capsys.readouterr().out
    for sentence in (
        "A station every 2 to 3 kHz",
        "10 minutes as E87ABC with 5 W, spoken by rivet, seed 5.",
        "14227.0 kHz.",
        "Your log line: OH2QRK 081",
        "You say: echo eight seven",
        "Logged: no. 1, OH2QRK, given (nothing), got 081.",
        "You have it, no. 1.",
        "Now: no. 1, DL4QRB, given (nothing), got 081.",
        "The pad has 1 line, so nothing was changed.",
        "Type the correct call or exchange after r, such as r OH2QRK 081.",
        "Marked 14227.0 kHz.",
        "Unknown key q. i shows where you are; =q notes it.",
        "7000.0 kHz is not on a band: 14150.0 to 14300.0 kHz.",
        "10 minutes left. 14227.0 kHz. ",
        "faintcall hunt --continue",
    ):
        assert sentence in output
    with Store(record_file()) as store:
        live = HuntSession.resume(store, speech=NoiseSpeech()).live
    kinds = ["tune", "note", "call", "log", "note", "mend", "mend", "mark"]
    assert [act.kind for act in live.acts] == kinds


def test_the_sound_has_no_gap_except_the_trainees_over(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "", "m", "", "", "s")
    assert run_hunt(sounds) == 0
    samples, rate_hz = soundfile.read(sounds / "hunt-01.wav")
    assert f"The sound is in {sounds / 'hunt-01.wav'}" in capsys.readouterr().out
    assert len(samples) / rate_hz == pytest.approx(15, abs=0.2)
    blocks = np.max(np.abs(samples[: len(samples) // 160 * 160].reshape(-1, 160)), axis=1)
    silent = np.flatnonzero(blocks == 0)
    assert 5 < silent[0] / 100 < 5.6
    assert len(silent) == silent[-1] - silent[0] + 1
    assert 1.5 < len(silent) / 100 < 6
    assert 0.1 < np.max(np.abs(samples)) <= 1


def test_a_hunt_continues_and_ends(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with Store(record_file()) as store:
        setup = replace(ten_minutes(), minutes=0.25)
        HuntSession.begin(setup, store, now=datetime.now(UTC), speech=NoiseSpeech())
    type_lines(monkeypatch, "", "oh2qrk 81", "s")
    assert main(["hunt", "--continue", "--audio-to", str(sounds)]) == 0
    type_lines(monkeypatch, "i", "", "", "", "")
    assert main(["hunt", "--continue", "--audio-to", str(sounds)]) == 0
    output = capsys.readouterr().out
    assert output.count("Your log line: OH2QRK 81") > 1
    assert "Enter: finish." in output
    assert len(list(sounds.glob("hunt-*.wav"))) == 2


def test_a_hunt_is_ended_early_and_both_logs_are_compared(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "", "oh2qrk 81", "l", "s")
    assert run_hunt(sounds) == 0
    assert "compare the logs with: faintcall hunt --end" in capsys.readouterr().out
    type_lines(monkeypatch, "")
    assert main(["hunt", "--end", "--audio-to", str(sounds)]) == 0
    output = capsys.readouterr().out
    assert "0 of 1 contacts are right in both logs." in output
    assert "0 contacts in 5 seconds with 5 W. Not counted: 1 not in their log." in output
    assert main(["hunt", "--end"]) == 2
    assert "the last hunt has ended; start a new one" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--minutes", "5"), "minutes"),
        (("--bands", "crowded"), "crowded"),
        (("--watts", "0"), "watts"),
        (("--continue",), "there is no hunt to continue"),
        (("--end",), "there is no hunt to continue"),
    ],
)
def test_wrong_options_are_refused_in_one_line(
    sounds: Path, words: tuple[str, ...], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_hunt(sounds, *words) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1
    assert not list(sounds.glob("*.wav"))
