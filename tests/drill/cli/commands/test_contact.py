"""faintcall contact with typed lines: time passes turn by turn; resumed and replayed."""

from pathlib import Path
from random import Random

import numpy as np
import pytest

from drill import voices
from drill.cli import main
from drill.cli.line_reader import LineReader
from drill.contact.setup import ContactOptions, create_setup
from drill.core.arrays import resample
from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.options import SessionOptions
from drill.voices.operators import find_operator
from phonetics.alphabets import spell
from tests.drill.cli.fake_microphone import install_microphone, type_lines
from tests.drill.word_recordings import RATE_HZ, white_noise

CONTACT = [
    *("contact", "--seed", "13", "--ears", "model", "--mix", "unassigned", "--own-voice", "birch"),
    *("--voices", "birch,maple", "--path-snr", "35", "--watts", "100", "--call", "E87ABC"),
]


def run_contact(sounds: Path, *words: str) -> int:
    return main([*CONTACT, "--audio-to", str(sounds), *words])


def right_line(number: int = 0) -> str:
    """Return the correct log line for a station of CONTACT."""
    options = SessionOptions(
        seed=13, mix="unassigned", voices=("birch", "maple"), path_snr_db=35.0, watts=100.0
    )
    setup = create_setup(options, ContactOptions(ears="model", voice="birch", call="E87ABC"))
    speaker = setup.station(number).speaker
    return f"{speaker.call} {' '.join(field.text for field in speaker.fields)}"


def test_a_contact_right_in_both_logs(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "i", "m", "", right_line(), "x", "", "l", "d", "1", "2c", "n", "")
    assert run_contact(sounds, "--stations", "1") == 0
    output = capsys.readouterr().out
    assert "1 contact as E87ABC" in output
    assert "Right in both logs." in output
    assert "Station 1 of 1, you have 100 W. Listen." in output
    assert "You say: echo eight seven" in output
    assert f"Your log line: {right_line()}" in output
    assert "in your log" in output
    assert "This session:" in output
    assert "contact again" in output
    assert list(sounds.glob("station-01-01.wav"))
    assert list(sounds.glob("station-01-over-2-clean.wav"))
    assert list(sounds.glob("station-01-again.wav"))


def test_unknown_letters_and_notes_of_one_letter(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "q", "=q", ".", "y", "s")
    assert run_contact(sounds, "--stations", "2") == 0
    output = capsys.readouterr().out
    assert "Unknown key q. i shows where you are; =q notes it." in output
    assert "You left, so the contact is in neither log." in output
    assert "Unknown key y." in output
    assert "faintcall contact --continue" in output


@pytest.mark.slow
def test_a_session_continues_and_is_played_again(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "e8?", "s")
    assert run_contact(sounds, "--stations", "1") == 0
    type_lines(monkeypatch, ".", "")
    assert main(["contact", "--continue", "--audio-to", str(sounds)]) == 0
    output = capsys.readouterr().out
    assert "It continues at 0:0" in output
    assert "Your log line: E8? (no exchange)" in output
    assert main(["contact", "--replay", "--audio-to", str(sounds)]) == 0
    output = capsys.readouterr().out
    assert "1  0:01 they:" in output
    assert (sounds / "station-01.wav").exists()


def test_without_a_call_an_unassignable_one_is_offered(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "nonsense", "", "s")
    assert main(["contact", "--ears", "model", "--audio-to", str(sounds)]) == 0
    output = capsys.readouterr().out
    assert "E87ABC, which no administration can assign" in output
    assert "own call: 'NONSENSE'" in output
    assert "10 contacts as E87ABC" in output


@pytest.mark.slow
def test_the_own_voice_by_microphone(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    words = spell("E87ABC", rng=Random(0))
    voice = voices.speak(words, find_operator("meadow"), 1)
    samples = resample(voice.samples.astype(np.float64), voice.rate_hz, RATE_HZ)
    quiet = white_noise(0.4, -70)
    microphone = install_microphone(monkeypatch, np.concatenate([quiet, samples]), quiet)
    type_lines(monkeypatch, "v", "", "v", ".", "", "s")
    # All typed lines arrive at once; the line after "v" must not end the recording.
    read = LineReader.read
    monkeypatch.setattr(LineReader, "read", lambda self, s: None if s == 0 else read(self, s))
    assert run_contact(sounds, "--stations", "1", "--ears", "recogniser") == 0
    output = capsys.readouterr().out
    assert "Speak now." in output
    assert 1.5 < microphone.recorded_s[0] < 5.0
    assert "No speech was heard, so nothing was sent." in output
    with Store(record_file()) as store:
        events = store.contact_events(store.contact_sessions()[0].id, 0)
    heard = [event.data["voices"] for event in events if event.kind == "heard"]
    texts = ["".join(token["text"] for token in voices[0]["tokens"]) for voices in heard if voices]
    assert "E87ABC" in texts


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--snr", "3"], "does not take 'snr_db'"),
        (["--watts", "9999"], "power 9999"),
        (["--ladder"], "leave out the power"),
        (["--call", "E8"], "own call"),
        (["--own-voice", "nobody"], "nobody"),
        (["--exchange", "nothing"], "unknown exchange 'nothing'"),
    ],
)
def test_wrong_options_end_with_one_line(
    sounds: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    message: str,
) -> None:
    type_lines(monkeypatch)
    assert run_contact(sounds, *words) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1
    with Store(record_file()) as store:
        assert store.contact_sessions() == []


def test_continuing_without_a_session_is_an_error(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch)
    assert main(["contact", "--continue", "--audio-to", str(sounds)]) == 2
    assert "no session of contacts to continue" in capsys.readouterr().err
