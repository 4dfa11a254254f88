"""faintcall copy: with typed lines in this process, in a real terminal, and killed."""

import os
import re
import shutil
import signal
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drill.cli import main
from drill.cli.dialogue import PROMPT
from drill.core import audio_files
from drill.core.errors import NoSoundCard
from drill.core.models import Item
from drill.core.paths import record_file
from drill.items.plan import Plan, compose_item
from drill.items.render import render
from drill.records.store import Store
from tests.drill.cli.fake_microphone import type_lines
from tests.drill.simulated_trainee import SimulatedTrainee, answer_prompts

if TYPE_CHECKING:
    import pexpect

COPY = ["copy", "--seed", "4", "--mix", "unassigned", "--alternates", "0"]


def right_answer(number: int, **choices: object) -> str:
    """Return what was sent in an item of COPY."""
    plan = Plan(seed=4, mix="unassigned", alternates=0.0, **choices)  # type: ignore[arg-type]
    return " ".join(field.text for field in compose_item(plan, number).message.fields)


def run_copy(sounds: Path, *words: str) -> int:
    return main([*COPY, "--audio-to", str(sounds), *words])


def spawn_copy(sounds: Path, *words: str) -> "pexpect.spawn[str]":
    """Start a session of COPY in a terminal of its own."""
    import pexpect

    return pexpect.spawn(
        sys.executable,
        ["-m", "drill", *COPY, "--audio-to", str(sounds), *words],
        encoding="utf-8",
        timeout=60,
        env={**os.environ, "TERM": "dumb"},
    )


def test_an_answer_in_code_words_is_questioned_once(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "echo eight x ray", "", "", "alfa bravo", right_answer(1, count=2), "")
    assert run_copy(sounds, "--items", "2") == 0
    output = capsys.readouterr().out
    assert output.count("Type characters, not words: ") == 2
    assert "Type characters, not words: E8X? Enter again takes the words as they stand." in output
    with Store(record_file()) as store:
        (session,) = store.sessions()
        typed = [attempt.answer.typed for attempt in store.attempts(session.id)]
    assert typed == ["echo eight x ray", right_answer(1, count=2)]


def test_a_whole_session(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    right, wrong = right_answer(0, count=2), right_answer(1, count=2)
    first_item = ["n", "i", right.lower(), "c", "n", "2", "2c", "i", "d", "x", ""]
    type_lines(monkeypatch, *first_item, wrong[:-1] + "?", "")
    assert run_copy(sounds, "--items", "2") == 0
    output = capsys.readouterr().out
    assert "2 items: SNR 0 dB in 3 kHz, steady path, seed 4." in output
    assert f"right: {right}" in output
    assert "Right. Played 2 times, so it is not right on first hearing." in output
    assert "An item that you hear again no longer counts as right on first hearing." in output
    assert "Item 1 of 2. No answer yet." in output
    assert "Item 1 of 2. 0 of 1 right on first hearing, 1 after a replay" in output
    assert re.search(r"  1\. [a-z-]+, [A-Z0-9]: \d+ dB (above|below) the noise", output)
    assert "Unknown key 'x'; i shows where you are." in output
    assert "Not right." in output
    assert "0 of 2 right on first hearing, 1 after a replay" in output
    assert "points" not in output
    assert sorted(path.name for path in sounds.iterdir()) == [
        "item-001-clean.wav",
        "item-001-word-2.wav",
        "item-001-word-2c.wav",
        "item-001.wav",
        "item-002.wav",
    ]
    with Store(record_file()) as store:
        (session,) = store.sessions()
        first, second = store.attempts(session.id)
    assert (first.answer.replays, first.right, second.right) == (1, True, False)


def test_keys_and_empty_lines_are_not_answers(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "", "q", "C", "d", "?", "=", right_answer(0, count=1), "")
    assert run_copy(sounds, "--items", "1") == 0
    output = capsys.readouterr().out
    assert "Type what you copied. n plays it again." in output
    assert "Unknown key 'q'; i shows where you are." in output
    assert "'c' works only after your answer. To answer with the letter, type =c." in output
    assert "'d' works only after your answer." in output
    assert "Use '?' for a missed character inside your answer." in output
    assert "Type your answer after '='" in output
    assert "1 of 1 right on first hearing" in output


def test_a_command_letter_after_an_equals_sign_is_an_answer(
    sounds: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    type_lines(monkeypatch, "=s", "", "= N ", "", "=e8abc", "")
    assert run_copy(sounds, "--items", "3") == 0
    with Store(record_file()) as store:
        attempts = store.attempts(store.sessions()[0].id)
    assert [attempt.answer.typed for attempt in attempts] == ["s", "N", "e8abc"]


def test_s_before_an_answer_stops_and_the_item_is_repeated_later(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "s")
    assert run_copy(sounds, "--items", "2") == 0
    assert "Continue with: faintcall copy --continue" in capsys.readouterr().out
    type_lines(monkeypatch, right_answer(0, count=2), "s")
    assert main(["copy", "--continue", "--audio-to", str(sounds)]) == 0
    output = capsys.readouterr().out
    assert "Item 1 of 2" in output and "1 of 1 right on first hearing" in output


@pytest.mark.skipif(sys.platform == "win32", reason="pexpect drives POSIX terminals")
def test_text_typed_before_an_item_plays_is_discarded(sounds: Path) -> None:
    child = spawn_copy(sounds, "--items", "1")
    child.sendline("typed far too early")
    child.sendline("")
    child.expect(PROMPT)
    child.sendline(right_answer(0, count=1))
    child.expect("Right\\.\r\n")
    child.expect("s: stop. ")
    child.sendline("")
    child.read()  # until the program ends
    child.close()
    with Store(record_file()) as store:
        (attempt,) = store.attempts(store.sessions()[0].id)
    assert attempt.answer.replays == 0


def test_a_wrong_character_is_marked(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    call = right_answer(0, count=1)
    type_lines(monkeypatch, call[:-1] + "?")
    run_copy(sounds, "--items", "1")
    lines = capsys.readouterr().out.splitlines()
    sent = next(index for index, line in enumerate(lines) if "sent   " in line)
    assert lines[sent].endswith(" ".join(call))
    assert lines[sent + 1].endswith(" ".join(call[:-1] + "?"))
    assert lines[sent + 2].index("^") == len(lines[sent]) - 1


def test_a_session_stopped_before_its_first_answer_is_the_one_that_continues(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, right_answer(0, count=3), "s")
    run_copy(sounds, "--items", "3")
    type_lines(monkeypatch)
    assert run_copy(sounds, "--items", "1", "--snr", "6") == 0
    assert "Continue with: faintcall copy --continue" in capsys.readouterr().out
    type_lines(monkeypatch, right_answer(0, count=1), "")
    assert main(["copy", "--continue", "--audio-to", str(sounds)]) == 0
    assert "1 item: SNR 6 dB" in capsys.readouterr().out
    with Store(record_file()) as store:
        assert [session.answered for session in store.sessions()] == [1, 1]


def test_giving_up_is_recorded(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, ".")
    run_copy(sounds, "--items", "1")
    assert right_answer(0, count=1) in capsys.readouterr().out.replace(" ", "")
    with Store(record_file()) as store:
        (attempt,) = store.attempts(store.sessions()[0].id)
    assert attempt.answer.gave_up
    assert not attempt.right


@pytest.mark.parametrize("part", ["exchange", "over"])
def test_exchanges_and_overs(
    part: str,
    sounds: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    choices = {"count": 1, "part": part, "exchange": "zone-itu"}
    type_lines(monkeypatch, right_answer(0, **choices))
    run_copy(sounds, "--items", "1", "--part", part, "--exchange", "zone-itu")
    assert "Right." in capsys.readouterr().out


def test_a_stopped_session_continues_where_it_stopped(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, right_answer(0, count=3), "s")
    assert run_copy(sounds, "--items", "3") == 0
    assert "copy --continue" in capsys.readouterr().out
    type_lines(monkeypatch, right_answer(1, count=3), "", right_answer(2, count=3), "")
    assert main(["copy", "--continue", "--audio-to", str(sounds)]) == 0
    assert "3 of 3 right on first hearing" in capsys.readouterr().out
    with Store(record_file()) as store:
        assert [session.answered for session in store.sessions()] == [3]
    assert main(["copy", "--continue", "--audio-to", str(sounds)]) == 2
    assert "finished" in capsys.readouterr().err


def test_a_measurement_is_not_continued(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "E8ABC")
    main(["measure", "--voices", "tin", "--audio-to", str(sounds)])
    capsys.readouterr()
    assert main(["copy", "--continue", "--audio-to", str(sounds)]) == 2
    assert "no session to continue; start one with: faintcall copy" in capsys.readouterr().err


def test_the_caution_comes_first_and_only_once(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "", ".")
    run_copy(tmp_path, "--items", "1")
    output = capsys.readouterr().out
    assert output.index("headphones") < output.index("Item 1 of 1")
    type_lines(monkeypatch, ".")
    run_copy(tmp_path, "--items", "1")
    assert "headphones" not in capsys.readouterr().out


def test_the_record_renders_the_same_samples_again(
    sounds: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only the record is used, and no cached speech; the samples are those of the file."""
    type_lines(monkeypatch, ".")
    run_copy(sounds, "--items", "1", "--fading", "mid-disturbed", "--snr", "-4")
    with Store(record_file()) as store:
        (attempt,) = store.attempts(store.sessions()[0].id)
    assert isinstance(attempt.item, Item)
    shutil.rmtree(record_file().parents[1] / "cache", ignore_errors=True)
    audio_files.write_audio(sounds / "again.wav", render(attempt.item))
    assert (sounds / "again.wav").read_bytes() == (sounds / "item-001.wav").read_bytes()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--part", "song"], "part 'song' is unknown"),
        (["--exchange", "nowhere"], "nowhere"),
        (["--fading", "fog"], "fading preset 'fog' is unknown"),
        (["--mix", "moon"], "mix 'moon' is unknown"),
        (["--snr", "99"], "SNR 99 dB is out of range"),
        (["--items", "0"], "count 0 is out of range"),
        (["--pace", "9"], "pace 9 is out of range"),
        (["--voices", "nobody"], "nobody"),
        (["--alternates", "2"], "share of alternates 2 is out of range"),
        (["--seed", "-1"], "seed -1 is out of range"),
        (
            ["--kind", "measurement"],
            "copy does not run sessions of the kind 'measurement'; choose",
        ),
        (["--kind", "song"], "copy does not run sessions of the kind 'song'"),
        (["--train", "--snr", "3"], "leave out the SNR and the power"),
        (["--snr", "nan"], "out of range"),
    ],
)
def test_a_wrong_option_is_refused_in_one_line(
    words: list[str], message: str, sounds: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_copy(sounds, *words) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1
    with Store(record_file()) as store:
        assert not store.sessions()


@pytest.mark.parametrize("snr", ["loud", "3dB", ""])
def test_an_snr_that_is_not_a_number_is_refused(
    snr: str, sounds: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        run_copy(sounds, "--snr", snr)
    assert stopped.value.code == 2
    assert "is not valid; give a number of dB" in capsys.readouterr().err


def test_a_folder_that_cannot_be_created_is_refused(
    sounds: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("")
    assert run_copy(tmp_path / "file" / "x") == 2
    assert "cannot be created" in capsys.readouterr().err


def test_training_plays_a_miss_clean_and_in_noise_again(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answer_prompts(
        monkeypatch, SimulatedTrainee(), lambda prompt, item: "E8A" if item == 1 else "E8ABC"
    )
    words = ["--train", "--items", "2", "--seed", "3", "--voices", "tin,wren"]
    assert main(["copy", *words, "--audio-to", str(tmp_path / "sounds")]) == 0
    assert capsys.readouterr().out.count("Playing the item clean, then again in noise.") == 2
    names = {path.name for path in (tmp_path / "sounds").iterdir()}
    assert {"item-001.wav", "item-001-clean.wav", "item-001-again.wav"} <= names
    first = (tmp_path / "sounds" / "item-001.wav").read_bytes()
    assert (tmp_path / "sounds" / "item-001-again.wav").read_bytes() == first
    with Store(record_file()) as store:
        assert store.sessions(1)[0].mode == "training"


def test_a_kill_loses_no_answer(sounds: Path, tmp_path: Path) -> None:
    """kill -9 in the middle of the third item: the record has the two answers before it."""
    command = [sys.executable, "-u", "-m", "drill", *COPY, "--items", "5"]
    process = subprocess.Popen(
        [*command, "--audio-to", str(tmp_path / "out")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        bufsize=1,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("E8AAA\n\nE8BBB\n\n")
    process.stdin.flush()
    for line in process.stdout:
        if line.startswith("Item 3"):
            break
    process.kill()
    process.wait()
    process.stdin.close()
    process.stdout.close()
    with Store(record_file()) as store:
        (session,) = store.sessions()
        attempts = store.attempts(session.id)
    assert [attempt.answer.typed for attempt in attempts] == ["E8AAA", "E8BBB"]


@pytest.mark.skipif(sys.platform == "win32", reason="pexpect drives POSIX terminals")
def test_ctrl_c_in_a_real_terminal_ends_with_the_score(sounds: Path) -> None:
    child = spawn_copy(sounds, "--items", "4")
    child.expect(PROMPT)
    child.sendline(right_answer(0, count=4))
    child.expect("Right\\.")
    child.expect("s: stop. ")
    child.sendline("")
    child.expect(PROMPT)
    child.sendintr()
    child.expect("1 of 1 right on first hearing")
    child.read()  # until the program ends
    child.close()
    assert child.exitstatus == 0


def test_without_a_sound_card_nothing_is_recorded(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(_: object) -> None:
        raise NoSoundCard("No sound: none here; or let each item be written: --audio-to DIR")

    monkeypatch.setattr("drill.devices.output.SoundCard.__init__", fail)
    assert main(COPY) == 1
    error = capsys.readouterr().err
    assert re.fullmatch(r"faintcall: No sound: [^\n]*--audio-to DIR\n", error)
    with Store(record_file()) as store:
        assert not store.sessions()


def test_a_session_does_not_change_the_handler_of_ctrl_c(
    sounds: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the usual handler, a second Ctrl-C always works."""
    type_lines(monkeypatch, ".")
    run_copy(sounds, "--items", "1")
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
