"""faintcall record-words: the walk with a microphone, folders of files, consent, deletion."""

import io
import os
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from drill import voices
from drill.cli import main
from drill.cli.word_walk import Walk
from drill.core.errors import NoMicrophone
from drill.core.models import Clip
from drill.devices.microphone import BLOCK_S, Level
from drill.voices.people.roster import operator
from drill.voices.wordbank import folder as bank_folder
from drill.voices.wordbank import words as bank_words
from drill.voices.wordbank.cut import LEVEL_DB, level_of
from drill.voices.wordbank.words import Group
from phonetics.message import Word
from tests.drill.card import put
from tests.drill.recordings import CONSENT, RATE_HZ, Sound, noise, recorded, word

ROOM = noise(2, -70, seed=9)


def typed(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(line + "\n" for line in lines)))


class Room:
    """A microphone that hears one sound after the other, and then silence."""

    def __init__(self, *sounds: Sound) -> None:
        self._sounds = [*sounds]
        self.heard_s: list[float] = []

    def record(
        self,
        *,
        seconds: float,
        until: Callable[[Level], bool] = lambda level: False,
        meter: Callable[[Level], None] = lambda level: None,
    ) -> Clip:
        sound = self._sounds.pop(0)
        long = np.concatenate((sound, noise(6, -70)))[: round(seconds * RATE_HZ)]
        block, end = round(BLOCK_S * RATE_HZ), 0
        for end in range(block, len(long) + 1, block):
            part = long[end - block : end]
            level = Level(
                at_s=end / RATE_HZ,
                peak=float(np.abs(part).max()),
                rms=float(np.sqrt(np.mean(part**2))),
            )
            meter(level)
            if until(level):
                break
        self.heard_s.append(end / RATE_HZ)
        return Clip(samples=long[:end].astype(np.float32), rate_hz=RATE_HZ)


@pytest.fixture
def at_the_microphone(home: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Room]:
    """Return how to put sounds before the microphone of the command."""

    def hears(*sounds: Sound) -> Room:
        room = Room(*sounds)
        monkeypatch.setattr("drill.devices.microphone.record", room.record)
        monkeypatch.setattr("drill.devices.microphone.Microphone.__init__", lambda self: None)
        monkeypatch.setattr("drill.devices.microphone.Microphone.close", lambda self: None)
        return room

    return hears


def said(seed: int = 0) -> Sound:
    return recorded(word(0.4 + 0.05 * seed), seed=seed)


def words_of(name: str) -> set[str]:
    found = bank_folder.load(name)
    assert found is not None
    return set(found.words)


def test_a_walk_keeps_every_word_at_once_and_goes_on_later(
    at_the_microphone: Callable[..., Room],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    at_the_microphone(ROOM, said(1), said(2))
    typed(monkeypatch, "Test Voice", "yes", "", "", "", "q")
    assert main(["record-words", "mine"]) == 0
    out = capsys.readouterr().out
    assert "stay on this machine" in out
    assert "--delete" in out
    assert "Background -70 dB: quiet enough." in out
    assert out.index("Word 1 of 37: alfa") < out.index("Word 2 of 37: bravo")
    assert re.search(r"alfa: 0\.4\d s, level -\d\d dB, peak -\d+ dB, \d\d dB above the", out)
    assert "2 words kept" in out
    assert "2 of 37 essential words" in out
    assert "faintcall record-words mine" in out.splitlines()[-1]
    assert words_of("mine") == {"alfa", "bravo"}
    assert bank_folder.load("mine").consent.speaker == "Test Voice"  # type: ignore[union-attr]

    at_the_microphone(ROOM, said(3))
    typed(monkeypatch, "", "", "q")
    assert main(["record-words", "mine"]) == 0
    assert "Word 1 of 35: charlie" in capsys.readouterr().out
    assert words_of("mine") == {"alfa", "bravo", "charlie"}


def test_skip_back_and_retake(
    at_the_microphone: Callable[..., Room],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    at_the_microphone(ROOM, said(1), said(2), said(3))
    # alfa kept, back to it and taken again, bravo skipped, charlie kept, a key that is none
    typed(monkeypatch, "", "", "b", "", "s", "", "?", "q")
    assert main(["record-words", "mine", "--consent", "Test Voice"]) == 0
    out = capsys.readouterr().out
    assert words_of("mine") == {"alfa", "charlie"}
    assert "'?' is none of them." in out
    assert "3 words kept" in out
    mine = bank_folder.load("mine")
    assert mine is not None
    assert mine.words["alfa"].seconds == pytest.approx(0.5, abs=0.03)
    assert len(list(mine.folder.glob("*.wav"))) == 2


def test_a_fault_is_told_and_the_word_is_kept_only_when_asked_for(
    at_the_microphone: Callable[..., Room],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    loud = np.clip(10 * said(1), -1, 1)
    at_the_microphone(ROOM, loud, loud, noise(5, -70, seed=3), said(2))
    typed(monkeypatch, "", "", "", "k", "", "", "q")
    assert main(["record-words", "mine", "--consent", "Test Voice"]) == 0
    out = capsys.readouterr().out
    assert out.count("  Clipped: lower the input's level") == 2
    assert "Not kept: nothing in it stands out from the background." in out
    assert words_of("mine") == {"alfa", "bravo"}


def test_the_recording_ends_by_itself_after_the_word(
    at_the_microphone: Callable[..., Room], monkeypatch: pytest.MonkeyPatch
) -> None:
    """0.4 s of room, a word of 0.45 s, 0.6 s of quiet: well before the 5 s that there are."""
    room = at_the_microphone(ROOM, said(1))
    typed(monkeypatch, "", "", "q")
    main(["record-words", "mine", "--consent", "Test Voice"])
    assert room.heard_s[0] == pytest.approx(2.0)
    assert 1.3 < room.heard_s[1] < 1.6


def test_a_noisy_room_can_be_listened_to_again(
    at_the_microphone: Callable[..., Room],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    room = at_the_microphone(noise(2, -35), ROOM, said(1))
    typed(monkeypatch, "", "r", "", "q")
    assert main(["record-words", "mine", "--consent", "Test Voice"]) == 0
    out = capsys.readouterr().out
    assert out.index("too noisy: close the window") < out.index("quiet enough")
    assert len(room.heard_s) == 3
    assert words_of("mine") == {"alfa"}


def test_the_key_that_started_it_does_not_end_it(
    at_the_microphone: Callable[..., Room], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two strokes of a key, then a speaker who takes a second to begin."""
    key = np.concatenate((noise(0.03, -20), np.zeros(2400), noise(0.03, -20)))
    room = at_the_microphone(ROOM, np.concatenate((key, recorded(word(), before=1.0))))
    typed(monkeypatch, "", "", "q")
    main(["record-words", "mine", "--consent", "Test Voice"])
    assert room.heard_s[1] > 2
    assert words_of("mine") == {"alfa"}


def test_optional_words_come_after_the_essential_ones_and_can_be_skipped(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    room = Room(ROOM, said(1), said(2))
    typed(monkeypatch, "", "", "s", "", "")
    walk = Walk(bank_folder.create("mine", CONSENT), record=room.record, play=lambda clip: None)
    walk.run(
        [
            Group(title="first", words=("alfa",), optional=False),
            Group(title="second", words=("roger", "over")),
            Group(title="third", words=("oh",)),
        ]
    )
    out = capsys.readouterr().out
    assert words_of("mine") == {"alfa", "oh"}
    assert out.count("Without them, other words are said.") == 2
    assert "Word 1 of 1: alfa" in out
    assert "roger" not in out


def test_the_last_take_is_played_as_it_is_kept(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    heard: list[Clip] = []
    typed(monkeypatch, "", "", "p", "q")
    room = Room(ROOM, said(1))
    walk = Walk(bank_folder.create("mine", CONSENT), record=room.record, play=heard.append)
    walk.run([Group(title="words", words=("alfa", "bravo"), optional=False)])
    (clip,) = heard
    assert level_of(clip.samples) == pytest.approx(LEVEL_DB, abs=0.1)


def test_nothing_moves_on_the_screen(
    at_the_microphone: Callable[..., Room],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Plain lines for a screen reader: no carriage return, no escape."""
    at_the_microphone(ROOM, said(1))
    typed(monkeypatch, "", "", "q")
    main(["record-words", "mine", "--consent", "Test Voice", "--meter"])
    shown = capsys.readouterr()
    assert not set("\r\x1b\b") & set(shown.out + shown.err)


def test_the_end_of_input_stops_it(
    at_the_microphone: Callable[..., Room],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    at_the_microphone(ROOM, said(1))
    typed(monkeypatch, "", "")
    assert main(["record-words", "mine", "--consent", "Test Voice"]) == 0
    assert "1 word kept" in capsys.readouterr().out


def test_a_microphone_that_goes_away_is_told_and_the_words_stay(
    at_the_microphone: Callable[..., Room],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    room = at_the_microphone(ROOM, said(1))
    takes = iter([room.record, room.record])

    def record(**given: Any) -> Clip:
        try:
            return next(takes)(**given)
        except StopIteration:
            raise NoMicrophone("No microphone: the input has gone; plug it in") from None

    monkeypatch.setattr("drill.devices.microphone.record", record)
    typed(monkeypatch, "", "", "")
    assert main(["record-words", "mine", "--consent", "Test Voice"]) == 1
    assert capsys.readouterr().err == "faintcall: No microphone: the input has gone; plug it in\n"
    assert words_of("mine") == {"alfa"}


def test_without_a_microphone_nothing_is_asked(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def none(_: object) -> None:
        raise NoMicrophone("No microphone: none here; connect one")

    monkeypatch.setattr("drill.devices.microphone.Microphone.__init__", none)
    typed(monkeypatch)
    assert main(["record-words", "mine"]) == 1
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err == "faintcall: No microphone: none here; connect one\n"
    assert bank_folder.names() == ()


@pytest.mark.parametrize("answers", [("Test Voice", "no"), ("Test Voice", ""), ("Test Voice",), ()])
def test_without_consent_nothing_is_recorded(
    answers: tuple[str, ...],
    at_the_microphone: Callable[..., Room],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    room = at_the_microphone(ROOM)
    typed(monkeypatch, *answers)
    assert main(["record-words", "mine"]) == 2
    assert "consent" in capsys.readouterr().err
    assert not room.heard_s
    assert bank_folder.names() == ()


# --- folders of files


@pytest.fixture
def folder(home: Path, tmp_path: Path) -> Path:
    """Return a folder of recordings with names as people give them."""
    made = tmp_path / "files"
    made.mkdir()
    for number, name in enumerate(("Alpha.wav", "9.flac", "NINER.wav", "x ray.wav", "notes.txt")):
        if name == "notes.txt":
            (made / name).write_text("not a sound")
        else:
            soundfile.write(made / name, said(number), RATE_HZ)
    return made


def take_in(folder: Path, *more: str) -> int:
    return main(["record-words", "club", "--from", str(folder), "--consent", "Test Voice", *more])


def test_a_folder_is_taken_in(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert take_in(folder) == 0
    out = capsys.readouterr().out
    assert words_of("club") == {"alfa", "nine", "niner", "x-ray"}
    assert "4 words taken, 0 files refused." in out
    assert "3 of 37 essential words, 1 of" in out
    lacks = next(line for line in out.splitlines() if "(essential)" in line)
    assert "bravo" in lacks
    assert "alfa" not in lacks
    clip = voices.find("bank").say([Word(say="alfa"), Word(say="niner")], operator("bank-club"), 1)
    assert [each.say for each in clip.words] == ["alfa", "niner"]


def test_every_error_of_a_folder_is_a_line(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "bravo.wav").write_bytes(b"RIFF and no more")
    soundfile.write(folder / "charlie.wav", np.zeros(8000), RATE_HZ)
    soundfile.write(folder / "kelp.wav", said(), RATE_HZ)
    soundfile.write(folder / "alfa.wav", np.clip(10 * said(), -1, 1), RATE_HZ)
    assert take_in(folder) == 2
    shown = capsys.readouterr()
    lines = shown.err.splitlines()
    assert len(lines) == 4
    for line, told in zip(
        sorted(lines),
        (
            r"Alpha\.wav|alfa\.wav: alfa is taken from",
            r"bravo\.wav cannot be read: it is no sound file",
            r"charlie\.wav: there is no sound in it",
            r"kelp\.wav: its name is no word",
        ),
        strict=True,
    ):
        assert line.startswith("faintcall: not taken: ")
        assert re.search(told, line)
    assert words_of("club") == {"alfa", "nine", "niner", "x-ray"}


def test_faults_of_files_are_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    soundfile.write(folder / "bravo.wav", np.clip(10 * said(), -1, 1), RATE_HZ)
    assert take_in(folder) == 0
    assert "Taken, but bravo: clipped" in capsys.readouterr().out


def test_only_some_words_and_words_of_ones_own(folder: Path) -> None:
    soundfile.write(folder / "kelp.wav", said(), RATE_HZ)
    assert take_in(folder, "--only", "kelp,nine") == 0
    assert words_of("club") == {"kelp", "nine"}


def test_a_complete_bank_is_ready(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = home / "files"
    folder.mkdir(parents=True)
    for number, each in enumerate(bank_words.essential()):
        soundfile.write(folder / f"{each}.wav", said(number % 5), RATE_HZ)
    assert take_in(folder) == 0
    assert "37 of 37 essential words" in capsys.readouterr().out
    assert main(["record-words", "club", "--check"]) == 0
    shown = capsys.readouterr()
    assert "Use: faintcall copy --voices bank-club" in shown.out
    assert shown.err == ""
    assert main(["record-words", "--list"]) == 0
    assert "club: voice of Test Voice" in capsys.readouterr().out
    assert main(["choices"]) == 0
    assert "  bank-club\n" in capsys.readouterr().out


def test_a_file_that_was_changed_is_found(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    take_in(folder)
    club = bank_folder.load("club")
    assert club is not None
    soundfile.write(club.path("nine"), 0.3 * said(), 24_000)
    club.path("alfa").unlink()
    capsys.readouterr()
    assert main(["record-words", "club", "--check"]) == 1
    err = capsys.readouterr().err
    assert re.search(r"nine: its level is -\d+ dB now", err)
    assert re.search(r"alfa: .*alfa-\w+\.wav cannot be read: it is not there", err)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "give the bank a name"),
        (["Mine"], "no name for a bank"),
        (["club", "--from", "nowhere-at-all"], "there is no folder nowhere-at-all"),
        (["club", "--from", "."], "no WAV or FLAC file"),
        (["club", "--check"], "there is no bank 'club'; there are: none"),
        (["club", "--delete"], "there is no bank 'club'"),
        (["club", "--only", "a b"], "'a b' is no word"),
    ],
)
def test_bad_choices_are_told_in_one_line(
    words: list[str],
    told: str,
    home: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    home.mkdir()
    monkeypatch.chdir(home)
    assert main(["record-words", *words]) == 2
    err = capsys.readouterr().err
    assert told in err
    assert err.count("\n") == 1


def test_one_bank_is_one_speaker(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    take_in(folder)
    assert main(["record-words", "club", "--from", str(folder), "--consent", "Other Voice"]) == 2
    assert "one bank is one speaker" in capsys.readouterr().err


def test_deletion_takes_the_name_and_leaves_nothing(
    folder: Path, home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    take_in(folder)
    for answers in (("no",), ()):
        typed(monkeypatch, *answers)
        assert main(["record-words", "club", "--delete"]) == 2
        assert "nothing was deleted" in capsys.readouterr().err
    typed(monkeypatch, "club")
    assert main(["record-words", "club", "--delete"]) == 0
    assert not list((home / "data" / "banks").rglob("*.wav"))
    assert bank_folder.names() == ()


def test_a_sitting_needs_a_bank_that_is_ready(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    take_in(folder)
    capsys.readouterr()
    for name, told in (("bank-club", "lacks 34 of the 37"), ("bank-x", "no word bank 'bank-x'")):
        assert main(["copy", "--voices", name, "--audio-to", str(tmp_path)]) == 2
        err = capsys.readouterr().err
        assert told in err
        assert err.count("\n") == 1


# --- in a real terminal, with a file as microphone


def test_a_walk_in_a_terminal(said_file: Path, home: Path) -> None:
    import pexpect

    quiet = noise(6, -70)
    put(said_file, quiet, RATE_HZ)
    child = pexpect.spawn(
        sys.executable,
        ["-m", "drill", "record-words", "mine"],
        encoding="utf-8",
        timeout=60,
        env={**os.environ, "ALSA_CONFIG_PATH": str(said_file.with_name("asound.conf"))},
    )
    for asked, answer in (("Name: ", "Test Voice"), ("Type yes: ", "yes"), ("keep still", "")):
        child.expect(asked)
        child.sendline(answer)
    child.expect("Background -7.* dB: quiet enough")
    for number, each in enumerate(("alfa", "bravo")):
        child.expect(f"Word {number + 1} of 37: {each}")
        child.expect("q: stop. ")
        put(said_file, np.concatenate((said(number), quiet)), RATE_HZ)
        child.sendline("")
        child.expect(f"Say now: {each}")
        child.expect("above the background")
        child.expect("Kept.")
    child.expect("q: stop. ")
    child.sendintr()
    child.expect("2 words kept")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    assert words_of("mine") == {"alfa", "bravo"}


def test_a_kill_in_the_middle_of_a_take_loses_no_word(said_file: Path, home: Path) -> None:
    import pexpect

    put(said_file, np.concatenate((said(1), noise(6, -70))), RATE_HZ)
    bank_folder.create("mine", CONSENT)
    child = pexpect.spawn(
        sys.executable,
        ["-m", "drill", "record-words", "mine"],
        encoding="utf-8",
        timeout=60,
        env={**os.environ, "ALSA_CONFIG_PATH": str(said_file.with_name("asound.conf"))},
    )
    child.expect("keep still")
    child.sendline("")
    child.expect("q: stop. ")
    child.sendline("")
    child.expect("Kept.")
    child.expect("q: stop. ")
    child.sendline("")
    child.expect("Say now: bravo")
    child.kill(9)
    child.close(force=True)
    assert "alfa" in words_of("mine")
