"""Word banks on disk: saved words are read back, and no word is lost if the program is killed."""

import contextlib
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.core import audio_files
from drill.core.errors import UserError
from drill.voices.wordbank.signal_levels import BANK_RATE_HZ
from drill.voices.wordbank.storage import (
    BANK_FILE,
    WordBank,
    bank_names,
    create_bank,
    delete_bank,
    load_bank,
    save_word,
)
from tests.drill.word_recordings import CONSENT, cut_example


def save_example(bank: WordBank, word: str, seed: int = 0) -> WordBank:
    recording = cut_example(seed)
    return save_word(bank, word, recording.samples, recording.seconds)


def test_a_saved_word_is_read_back(home: Path) -> None:
    saved = save_example(create_bank("new", CONSENT), "alfa")
    loaded = load_bank("new")
    assert loaded == saved
    assert loaded.consent == CONSENT
    assert loaded.can_say("alfa")
    assert not loaded.can_say("bravo")
    clip = audio_files.read_audio(loaded.path("alfa"))
    assert clip.rate_hz == BANK_RATE_HZ
    assert np.abs(clip.samples - cut_example().samples).max() < 1 / 32_000


def test_a_new_recording_replaces_the_file_of_the_old_one(home: Path) -> None:
    first = save_example(create_bank("new", CONSENT), "you're", seed=1)
    second = save_example(first, "you're", seed=2)
    second_again = save_example(second, "you're", seed=2)
    assert not first.path("you're").exists()
    assert second_again.path("you're").exists()
    assert len(list(second_again.folder.glob("*.wav"))) == 1


def test_two_processes_that_record_into_a_bank_lose_nothing(home: Path) -> None:
    bank = create_bank("new", CONSENT)
    save_example(bank, "alfa", seed=1)
    assert set(save_example(bank, "bravo", seed=2).words) == {"alfa", "bravo"}


class Killed(BaseException):
    """Simulates a killed process; no code under test catches this exception."""


class DiskUseCounter:
    """Raises Killed at the n-th use of the disk.

    uses_left: how many uses of the disk remain before Killed is raised.
    """

    def __init__(self, uses: int, patch: pytest.MonkeyPatch) -> None:
        self.uses_left = uses
        for owner, name in (
            (soundfile, "write"),
            (Path, "replace"),
            (Path, "unlink"),
            (Path, "write_text"),
        ):
            patch.setattr(owner, name, self._counted(getattr(owner, name)))

    def _counted(self, function: Callable[..., Any]) -> Callable[..., Any]:
        def counted_function(*args: Any, **kwargs: Any) -> Any:
            if not self.uses_left:
                raise Killed
            self.uses_left -= 1
            return function(*args, **kwargs)

        return counted_function


@pytest.mark.parametrize("uses", range(8))
def test_killed_at_any_moment_a_bank_has_the_old_recording_or_the_new(
    home: Path, uses: int
) -> None:
    old = save_example(create_bank("new", CONSENT), "alfa", seed=1)
    with pytest.MonkeyPatch.context() as patch:
        counter = DiskUseCounter(uses, patch)
        with contextlib.suppress(Killed):
            save_example(old, "alfa", seed=2)
        assert counter.uses_left == 0 or uses >= 5
    loaded = load_bank("new")
    assert loaded is not None
    assert loaded.consent == CONSENT
    clip = audio_files.read_audio(loaded.path("alfa"))
    expected = cut_example(1 if loaded == old else 2).samples
    assert np.abs(clip.samples - expected).max() < 1 / 32_000


def test_nothing_is_left_of_a_deleted_bank(home: Path) -> None:
    bank = save_example(create_bank("new", CONSENT), "alfa")
    delete_bank(bank)
    assert not bank.folder.exists()
    assert load_bank("new") is None
    assert bank_names() == ()


@pytest.mark.parametrize("name", ["", "..", "A", "a/b", "-x", "ä", "x" * 40, "a b"])
def test_a_bad_bank_name_is_refused(name: str, home: Path) -> None:
    with pytest.raises(UserError, match="is not valid"):
        create_bank(name, CONSENT)


def test_a_bank_name_in_use_is_refused(home: Path) -> None:
    create_bank("new", CONSENT)
    with pytest.raises(UserError, match="there is already a bank 'new'"):
        create_bank("new", CONSENT)


@pytest.mark.parametrize("word", ["", "A", "a b", "../x", "x" * 31])
def test_a_bad_word_is_refused(word: str, home: Path) -> None:
    with pytest.raises(UserError, match="is not a word"):
        save_example(create_bank("new", CONSENT), word)


@settings(max_examples=30)
@given(st.text(max_size=70))
def test_any_speakers_name_is_saved_or_refused_in_one_line(speaker: str) -> None:
    try:
        consent = replace(CONSENT, speaker=speaker)
    except UserError as error:
        assert "\n" not in str(error)
        return
    with pytest.MonkeyPatch.context() as patch, tempfile.TemporaryDirectory() as folder:
        patch.setenv("FAINTCALL_HOME", folder)
        create_bank("new", consent)
        loaded = load_bank("new")
    assert loaded is not None
    assert loaded.consent.speaker == speaker


@pytest.mark.parametrize(
    "content",
    [
        b"", b"\xff", b"schema = [", b"schema = 1", b"schema = 9\nrate_hz = 24000",
        b"schema = 1\nrate_hz = 24000\nlevel_db = -26.0\nwords = 3\nconsent = 3",
        b'schema = 1\nrate_hz = 24000\nlevel_db = -26.0\n[consent]\nspeaker = "a"\nat = "b"\n'
        b'[words]\nalfa = { file = "../../x.wav", seconds = 1.0 }',
    ],
)  # fmt: skip
def test_a_damaged_bank_file_is_reported_in_one_line(content: bytes, home: Path) -> None:
    bank = create_bank("new", CONSENT)
    (bank.folder / BANK_FILE).write_bytes(content)
    with pytest.raises(UserError, match=r"bank\.toml") as error:
        load_bank("new")
    assert "\n" not in str(error.value)


def test_a_bank_of_version_0_2_is_read(home: Path) -> None:
    """The content of bank.toml as version 0.2.0 wrote it."""
    bank = create_bank("old", CONSENT)
    (bank.folder / BANK_FILE).write_text(
        "schema = 1\nrate_hz = 24000\nlevel_db = -26.0  # active speech level, ITU-T P.56\n\n"
        '[consent]\nspeaker = "Test Voice"\nat = "2026-03-01T09:00:00+00:00"\n'
        'purpose = "to be a voice of practice in faintcall, on the machine that it is kept on"\n\n'
        '[words]\n"alfa" = { file = "alfa-0123abcd.wav", seconds = 0.5 }\n',
        "utf-8",
    )
    loaded = load_bank("old")
    assert loaded is not None
    assert (loaded.consent.speaker, loaded.consent.at) == (CONSENT.speaker, CONSENT.at)
    assert loaded.consent.purpose.startswith("to be a voice of practice")
    assert loaded.words["alfa"].file == "alfa-0123abcd.wav"
