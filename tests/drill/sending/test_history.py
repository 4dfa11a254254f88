"""Reviewed takes in the record, including those of version 0.2.0, and their summary."""

import json
import shutil
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.core.structuring import to_data
from drill.records.store import Store
from drill.sending.history import (
    past_takes,
    previous_review,
    recent_reviews,
    stored_prompt,
    stored_review,
    summarise_takes,
)
from drill.sending.models import FAULT
from drill.sending.prompts import PROMPT_KINDS, compose_prompt
from tests.drill.sending.takes import (
    CALL_WITH_WRONG_B,
    CALL_WORDS,
    call_prompt,
    own_station,
    review_words,
)

RELEASED_RECORD = Path(__file__).parents[1] / "records" / "data" / "record-0.2.0.sqlite3"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(tmp_path / "record") as store:
        yield store


def add_takes(store: Store, takes: Sequence[str]) -> None:
    """Add one take of the call a day, from 1 May 2025 on, with these recognised words."""
    for day, words in enumerate(takes, 1):
        store.add_take(
            to_data(call_prompt()),
            to_data(review_words(words)),
            now=datetime(2025, 5, day, tzinfo=UTC),
            version="1",
        )


@pytest.mark.parametrize("kind", PROMPT_KINDS)
def test_prompts_and_reviews_are_read_as_they_were_stored(kind: str) -> None:
    prompt = compose_prompt(kind, own_station(), 3)
    assert stored_prompt(json.loads(json.dumps(to_data(prompt)))) == prompt
    review = review_words(CALL_WITH_WRONG_B, prompt=prompt)
    assert stored_review(json.loads(json.dumps(to_data(review)))) == review


def test_takes_are_read_newest_first(store: Store) -> None:
    add_takes(store, ["echo eight seven alfa charlie", CALL_WORDS])
    takes = list(past_takes(store))
    assert [take.taken_at[:10] for take in takes] == ["2025-05-02", "2025-05-01"]
    assert [take.review.right for take in takes] == [True, False]
    assert recent_reviews(store)[1][0] == call_prompt()


@pytest.mark.parametrize("review", ["{}", "[]", '{"findings": 1}', '{"findings": ["x"]}'])
def test_a_take_that_cannot_be_read_is_skipped(review: str, store: Store) -> None:
    add_takes(store, [CALL_WORDS])
    with store.transaction(writes=True) as db:
        db.execute(
            "INSERT INTO take (at, prompt, review, version) VALUES ('x', '{}', ?, '9')", (review,)
        )
    assert len(list(past_takes(store))) == 1


def test_takes_of_version_0_2_0_are_read(tmp_path: Path) -> None:
    shutil.copy(RELEASED_RECORD, tmp_path / "record")
    with Store(tmp_path / "record") as store:
        right, wrong = past_takes(store)
    assert right.review.right
    assert right.review.words[0].spoken == "echo"
    (finding,) = wrong.review.findings
    assert (finding.kind, finding.severity, finding.about) == ("missing", FAULT, ("B",))
    assert wrong.review.sound.speech_to_noise_db == 73.4
    assert wrong.prompt == call_prompt()


def test_takes_are_summarised(store: Store) -> None:
    add_takes(store, ["echo eight seven charlie", CALL_WORDS])
    summary = summarise_takes(list(past_takes(store)))
    assert (summary.takes, summary.right) == (2, 1)
    assert [(day.day, day.takes, day.right) for day in summary.days] == [
        ("2025-05-01", 1, 0), ("2025-05-02", 1, 1),
    ]  # fmt: skip
    # Two words are missing in one take.
    assert ("missing", 1) in summary.finding_counts


def test_the_last_take_of_the_same_words_is_compared(store: Store) -> None:
    review = review_words(CALL_WORDS)
    assert previous_review(store, call_prompt(), review) is None
    add_takes(store, [CALL_WITH_WRONG_B, ""])
    previous = previous_review(store, call_prompt(), review)
    assert previous is not None
    assert not previous.right
    assert previous.words  # the newest take, without any recognised word, is passed over
    assert previous_review(store, call_prompt(), review_words("")) is None
    other_prompt = compose_prompt("suffix", own_station(), 1)
    assert previous_review(store, other_prompt, review) is None
