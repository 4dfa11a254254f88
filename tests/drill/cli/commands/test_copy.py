"""The drill in the terminal: in this process with typed lines, and in a real terminal."""

import io
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from drill.cli import main
from drill.core import audio_files
from drill.core.models import Item
from drill.core.paths import record_file
from drill.items.plan import Plan, compose_item
from drill.items.render import render
from drill.records.store import Store

DRILL = ["copy", "--seed", "4", "--mix", "unassigned", "--alternates", "0"]


def truth(number: int, **choices: object) -> str:
    plan = Plan(seed=4, mix="unassigned", alternates=0.0, **choices)  # type: ignore[arg-type]
    return " ".join(field.text for field in compose_item(plan, number).message.fields)


def typed(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(line + "\n" for line in lines)))


@pytest.fixture
def sounds(home: Path, tmp_path: Path) -> Path:
    """Return the folder for sounds; the caution has been confirmed."""
    from datetime import UTC, datetime

    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    return tmp_path / "sounds"


def drill(sounds: Path, *words: str) -> int:
    return main([*DRILL, "--audio-to", str(sounds), *words])


def test_what_is_for_after_the_answer_is_no_answer(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed(monkeypatch, "n", "s", truth(0, count=1), "")
    assert drill(sounds, "--items", "1") == 0
    out = capsys.readouterr().out
    assert "n is for after the answer." in out
    assert "s is for after the answer." in out
    assert "1 of 1 logged right" in out


def test_a_whole_drill(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    right, wrong = truth(0, count=2), truth(1, count=2)
    typed(monkeypatch, "", "?", right.lower(), "c", "n", "", wrong[:-1] + "?", "")
    assert drill(sounds, "--items", "2") == 0
    out = capsys.readouterr().out
    assert f"right: {right}" in out
    assert "Logged right. Heard 2 times." in out
    assert "No answer yet." in out
    assert "Not right." in out
    assert "1 of 2 logged right" in out
    assert "40 points an item; 0 to go." in out
    assert sorted(p.name for p in sounds.iterdir()) == [
        "item-001-clean.wav",
        "item-001.wav",
        "item-002.wav",
    ]
    with Store(record_file()) as store:
        (sitting,) = store.sessions()
        first, second = store.attempts(sitting.id)
    assert (first.answer.replays, first.right, second.right) == (1, True, False)


def test_the_difference_is_marked_under_the_character(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    call = truth(0, count=1)
    typed(monkeypatch, call[:-1] + "?")
    drill(sounds, "--items", "1")
    lines = capsys.readouterr().out.splitlines()
    at = next(i for i, line in enumerate(lines) if "sent   " in line)
    assert lines[at].endswith(" ".join(call))
    assert lines[at + 1].endswith(" ".join(call[:-1] + "?"))
    assert lines[at + 2].index("^") == len(lines[at]) - 1


def test_giving_up_is_kept_as_such(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed(monkeypatch, ".")
    drill(sounds, "--items", "1")
    assert truth(0, count=1) in capsys.readouterr().out.replace(" ", "")
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
    typed(monkeypatch, truth(0, **choices))
    drill(sounds, "--items", "1", "--part", part, "--exchange", "zone-itu")
    assert "Logged right." in capsys.readouterr().out


def test_a_stopped_drill_goes_on_where_it_was(
    sounds: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed(monkeypatch, truth(0, count=3), "s")
    assert drill(sounds, "--items", "3") == 0
    assert "copy --continue" in capsys.readouterr().out
    typed(monkeypatch, truth(1, count=3), "", truth(2, count=3), "")
    assert main(["copy", "--continue", "--audio-to", str(sounds)]) == 0
    assert "3 of 3 logged right" in capsys.readouterr().out
    with Store(record_file()) as store:
        assert [row.answered for row in store.sessions()] == [3]
    assert main(["copy", "--continue", "--audio-to", str(sounds)]) == 2
    assert "finished" in capsys.readouterr().err


def test_the_caution_comes_first_and_only_once(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed(monkeypatch, "", ".")
    drill(tmp_path, "--items", "1")
    first = capsys.readouterr().out
    assert first.index("headphones") < first.index("Item 1 of 1")
    typed(monkeypatch, ".")
    drill(tmp_path, "--items", "1")
    assert "headphones" not in capsys.readouterr().out


def test_the_record_renders_the_item_again(sounds: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only what SQLite holds is used; the samples are those of the file, to the last bit."""
    typed(monkeypatch, ".")
    drill(sounds, "--items", "1", "--fading", "mid-disturbed", "--snr", "-4")
    with Store(record_file()) as store:
        (attempt,) = store.attempts(store.sessions()[0].id)
    assert isinstance(attempt.item, Item)
    shutil.rmtree(record_file().parents[1] / "cache", ignore_errors=True)
    audio_files.write_audio(sounds / "again.wav", render(attempt.item))
    assert (sounds / "again.wav").read_bytes() == (sounds / "item-001.wav").read_bytes()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--part", "song"], "part 'song' is unknown"),
        (["--exchange", "nowhere"], "nowhere"),
        (["--fading", "fog"], "no fading preset 'fog'"),
        (["--mix", "moon"], "mix 'moon' is unknown"),
        (["--snr", "99"], "SNR 99 dB is out of range"),
        (["--items", "0"], "count 0 is out of range"),
        (["--pace", "9"], "pace 9 is out of range"),
        (["--voices", "nobody"], "nobody"),
        (["--alternates", "2"], "share of alternates 2 is out of range"),
        (["--seed", "-1"], "seed -1 is out of range"),
    ],
)
def test_bad_choices_are_told_in_one_line(
    words: list[str], told: str, sounds: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert drill(sounds, *words) == 2
    err = capsys.readouterr().err
    assert told in err
    assert err.count("\n") == 1
    with Store(record_file()) as store:
        assert not store.sessions()


@pytest.mark.parametrize("snr", ["loud", "3dB", ""])
def test_an_snr_that_is_no_number(
    snr: str, sounds: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        drill(sounds, "--snr", snr)
    assert stopped.value.code == 2
    assert "is no SNR" in capsys.readouterr().err


def test_nan_is_out_of_range(sounds: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert drill(sounds, "--snr", "nan") == 2
    assert "out of range" in capsys.readouterr().err


def test_a_folder_that_cannot_be_made(
    sounds: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("")
    assert drill(tmp_path / "file" / "x") == 2
    assert "cannot be created" in capsys.readouterr().err


def test_a_kill_loses_no_answer(sounds: Path, tmp_path: Path) -> None:
    """kill -9 in the middle of the third item: the two answers before it are in the record."""
    command = [sys.executable, "-u", "-m", "drill", *DRILL, "--items", "5"]
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
        (sitting,) = store.sessions()
        assert [a.answer.typed for a in store.attempts(sitting.id)] == ["E8AAA", "E8BBB"]


@pytest.mark.skipif(sys.platform == "win32", reason="pexpect drives POSIX terminals")
def test_a_real_terminal_and_ctrl_c(sounds: Path) -> None:
    import pexpect

    child = pexpect.spawn(
        sys.executable,
        ["-m", "drill", *DRILL, "--items", "4", "--audio-to", str(sounds)],
        encoding="utf-8",
        timeout=60,
        env={**os.environ, "TERM": "dumb"},
    )
    child.expect("copied: ")
    child.sendline(truth(0, count=4))
    child.expect("Logged right")
    child.expect("s: stop. ")
    child.sendline("")
    child.expect("copied: ")
    child.sendintr()
    child.expect("1 of 1 logged right")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_without_a_sound_card_the_way_out_is_named(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from drill.core.errors import NoSoundCard

    def none(_: object) -> None:
        raise NoSoundCard("No sound: none here; or let each item be written: --audio-to DIR")

    monkeypatch.setattr("drill.devices.output.SoundCard.__init__", none)
    assert main(DRILL) == 1
    err = capsys.readouterr().err
    assert re.fullmatch(r"faintcall: No sound: [^\n]*--audio-to DIR\n", err)


def test_the_next_item_is_ready_before_it_is_asked_for(home: Path) -> None:
    from datetime import UTC, datetime

    from drill.core.models import Answer
    from drill.session.kinds.practice import Practice
    from drill.session.session import Session

    plan = Plan(seed=4, count=3, mix="unassigned")
    with Store(record_file()) as store:
        practice = Session.begin(Practice(plan=plan), store, now=datetime.now(UTC))
        practice.present()
        deadline = time.monotonic() + 60
        while not practice._prefetched[1].done():
            assert time.monotonic() < deadline
            time.sleep(0.01)
        practice.answer(Answer(typed="", seconds=0.0), now=datetime.now(UTC))
        assert practice.present()[0] == compose_item(plan, 1)
        practice.close()


def test_signals_are_the_systems(sounds: Path) -> None:
    """The drill leaves the handlers as they are: a second Ctrl-C always works."""
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
