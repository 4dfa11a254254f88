"""The recorder of words: what the speaker reads, which keys work, and what is saved."""

from pathlib import Path

import numpy as np
import pytest

from drill.cli.word_recorder import WordRecorder
from drill.core.models import Clip
from drill.voices.wordbank.signal_levels import BANK_LEVEL_DB, word_level_db
from drill.voices.wordbank.storage import create_bank, load_bank
from drill.voices.wordbank.words import WordGroup
from tests.drill.cli.fake_microphone import QUIET_ROOM, FakeMicrophone, type_lines
from tests.drill.word_recordings import (
    CONSENT,
    Sound,
    in_room,
    recorded_word,
    white_noise,
    word_sound,
    words_in_bank,
)

WORDS = WordGroup(title="words", words=("alfa", "bravo", "charlie", "delta"), optional=False)
CLIPPED = np.clip(10 * recorded_word(1), -1, 1)


def record(*sounds: Sound, groups: tuple[WordGroup, ...] = (WORDS,)) -> FakeMicrophone:
    """Record into a new bank "mine" from these sounds, until the typed input ends it."""
    microphone = FakeMicrophone(*sounds)
    bank = create_bank("mine", CONSENT)
    WordRecorder(bank, record=microphone.record, play=lambda clip: None).run(groups)
    return microphone


def test_every_word_is_saved_as_soon_as_it_is_recorded(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "", "", "")
    with pytest.raises(EOFError):
        record(QUIET_ROOM, recorded_word(1), recorded_word(2))
    assert words_in_bank("mine") == {"alfa", "bravo"}
    text = capsys.readouterr().out
    assert "Background noise -70 dB: quiet enough." in text
    assert text.index("Word 1 of 4: alfa") < text.index("Say now: alfa") < text.index("Saved.")
    assert text.index("Saved.") < text.index("Word 2 of 4: bravo")


def test_a_speaker_can_go_back_skip_and_repeat(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Record alfa, go back, record it again, skip bravo, record charlie, press a wrong key."""
    type_lines(monkeypatch, "", "", "b", "", "s", "", "?", "q")
    record(QUIET_ROOM, recorded_word(1), recorded_word(2), recorded_word(3))
    assert words_in_bank("mine") == {"alfa", "charlie"}
    assert "'?'" in capsys.readouterr().out
    bank = load_bank("mine")
    assert bank is not None
    assert bank.words["alfa"].seconds == pytest.approx(0.5, abs=0.03)
    assert len(list(bank.folder.glob("*.wav"))) == 2


def test_a_recording_with_a_fault_is_saved_only_on_request(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Record alfa twice, clipped; keep the second recording. Then noise alone, then bravo."""
    type_lines(monkeypatch, "", "", "", "k", "", "", "q")
    record(QUIET_ROOM, CLIPPED, CLIPPED, white_noise(5, -70, seed=3), recorded_word(2))
    text = capsys.readouterr().out
    assert text.count("  Clipped: lower the input level") == 2
    assert "Not saved: no word stands out from the background noise; record" in text
    assert words_in_bank("mine") == {"alfa", "bravo"}


def test_a_recording_ends_by_itself_after_the_word(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """0.4 s before the word, 0.45 s of word, 0.6 s of silence: well before the limit of 5 s."""
    type_lines(monkeypatch, "", "", "q")
    microphone = record(QUIET_ROOM, recorded_word(1))
    assert microphone.recorded_s[0] == pytest.approx(2.0)
    assert 1.3 < microphone.recorded_s[1] < 1.6


def test_the_noise_of_the_key_that_started_a_recording_does_not_end_it(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two key clicks, then a speaker who takes a second to begin."""
    clicks = np.concatenate((white_noise(0.03, -20), np.zeros(2400), white_noise(0.03, -20)))
    type_lines(monkeypatch, "", "", "q")
    late_word = in_room(word_sound(), before=1.0)
    microphone = record(QUIET_ROOM, np.concatenate((clicks, late_word)))
    assert microphone.recorded_s[1] > 2
    assert words_in_bank("mine") == {"alfa"}


def test_a_noisy_background_can_be_measured_again(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "", "r", "", "q")
    microphone = record(white_noise(2, -35), QUIET_ROOM, recorded_word(1))
    text = capsys.readouterr().out
    assert text.index("too noisy: close the window") < text.index("quiet enough")
    assert len(microphone.recorded_s) == 3
    assert words_in_bank("mine") == {"alfa"}


def test_optional_groups_can_be_skipped(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_lines(monkeypatch, "", "", "s", "", "")
    groups = (
        WordGroup(title="first", words=("alfa",), optional=False),
        WordGroup(title="second", words=("roger", "over")),
        WordGroup(title="third", words=("oh",)),
    )
    record(QUIET_ROOM, recorded_word(1), recorded_word(2), groups=groups)
    text = capsys.readouterr().out
    assert words_in_bank("mine") == {"alfa", "oh"}
    assert text.count("These are optional") == 2
    assert "Word 1 of 1: alfa" in text
    assert "roger" not in text


def test_the_last_recording_is_played_at_the_level_of_the_bank(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    played: list[Clip] = []
    type_lines(monkeypatch, "", "", "p", "q")
    microphone = FakeMicrophone(QUIET_ROOM, recorded_word(1))
    bank = create_bank("mine", CONSENT)
    WordRecorder(bank, record=microphone.record, play=played.append).run([WORDS])
    (clip,) = played
    assert word_level_db(clip.samples) == pytest.approx(BANK_LEVEL_DB, abs=0.1)
