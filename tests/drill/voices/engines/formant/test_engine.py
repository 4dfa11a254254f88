"""The formant engine: its text, its word times, its library and its worker process."""

from pathlib import Path

import numpy as np
import pytest

from drill import voices
from drill.core.errors import NoVoice
from drill.voices.engines.formant import engine as formant
from drill.voices.operators import find_operator
from phonetics.message import Word
from tests.drill.voices.common import OVER

WORD_EVENT, PHONEME_EVENT = 1, 7


def test_words_are_respelt_and_a_sentence_starts_with_a_capital() -> None:
    words = [Word(say="papa", pause="."), Word(say="over", pause=","), Word(say="five")]
    assert formant._text_for_library(words, {}) == ("pa-pah. Over, five", [7, 13, 18])


def test_two_words_read_as_one_share_its_time_by_letters() -> None:
    """The library reports "of the" at the position of "of"; with spaces: 3 and 4 characters."""
    words = [Word(say="of"), Word(say="the", pause=","), Word(say="coast")]
    events = [[WORD_EVENT, 1, 0, ""], [PHONEME_EVENT, 1, 7000, "_:"], [WORD_EVENT, 9, 9000, ""]]
    spans = formant._spans_from_events(words, [2, 7, 13], events, 20_000, 1000)
    assert spans == [("of", 0.0, 3.0), ("the", 3.0, 7.0), ("coast", 9.0, 20.0)]


def test_a_skipped_first_word_is_an_error() -> None:
    with pytest.raises(NoVoice, match="skipped 'alfa'"):
        formant._spans_from_events([Word(say="alfa")], [4], [], 1000, 1000)


@pytest.mark.parametrize("script", ["raise SystemExit(3)", "import time; time.sleep(60)"])
def test_a_worker_that_dies_or_hangs_is_an_error(
    script: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "worker.py").write_text(script, "utf-8")
    monkeypatch.setattr(formant, "_WORKER", tmp_path / "worker.py")
    monkeypatch.setattr(formant, "_TIMEOUT_S", 1.0)
    with pytest.raises(NoVoice, match="formant voice failed") as caught:
        voices.find_engine("formant").synthesise(OVER, find_operator("tin"), 1)
    assert "\n" not in str(caught.value)


def test_a_long_path_to_the_library_is_not_an_obstacle(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """espeak-ng 1.52 keeps its data folder in char[160]; a deep environment exceeds that."""
    deep = tmp_path / ("d" * 100) / ("e" * 100)
    deep.mkdir(parents=True)
    library = formant._library_path()
    for name in (library.name, "espeak-ng-data"):
        (deep / name).symlink_to(library.parent / name)
    engine, operator = voices.find_engine("formant"), find_operator("tin")
    expected = engine.synthesise(OVER, operator, 3)
    monkeypatch.setattr(formant, "_library_path", lambda: deep / library.name)
    assert np.array_equal(engine.synthesise(OVER, operator, 3).samples, expected.samples)
