"""The dialogue of a session: the score of an answer, and answers that cannot be saved."""

import io
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.cli.dialogue import Dialogue, score_lines
from drill.core.models import Answer, Attempt, Clip
from drill.core.paths import record_file
from drill.items.plan import Plan, compose_item
from drill.records.failures import RecordUnavailable
from drill.records.store import Store
from drill.scoring.answers import score_answer
from drill.session.kinds.practice import Practice
from drill.session.session import Session

ITEM = compose_item(
    Plan(seed=4, part="over", exchange="zone-itu", mix="unassigned", voices=("tin",)), 0
)
SENT = [field.text for field in ITEM.message.fields]


def attempt(typed: str, *, replays: int = 0, gave_up: bool = False) -> Attempt:
    return Attempt(
        answered_at="2026-03-01T09:00:00+00:00",
        item=ITEM,
        answer=Answer(typed=typed, seconds=1.0, replays=replays, gave_up=gave_up),
        scores=score_answer(ITEM.message.fields, typed, gave_up=gave_up),
        version="test",
    )


def test_a_right_answer_takes_one_line_for_each_field() -> None:
    lines = score_lines(attempt(" ".join(SENT)))
    assert lines[0] == "Right."
    assert [line.split()[0] for line in lines[1:]] == ["call", "report", "zone"]
    assert all("right: " in line for line in lines[1:])


def test_a_report_that_was_left_out_is_said_to_be_so() -> None:
    call, _, zone = SENT
    lines = score_lines(attempt(f"{call} {zone}"))
    assert lines[2].endswith("right: 59, left out")


@pytest.mark.parametrize(
    ("replays", "head"),
    [
        (0, "Not right."),
        (2, "Not right. Played 3 times, so it is not right on first hearing."),
    ],
)
def test_the_first_line_counts_replays(replays: int, head: str) -> None:
    assert score_lines(attempt("E8?", replays=replays))[0] == head


def test_an_answer_that_was_given_up_shows_what_was_sent() -> None:
    lines = score_lines(attempt("", gave_up=True))
    assert lines[0] == "Given up."
    assert " ".join(SENT[0]) in lines[1]


def test_a_common_slip_is_noted() -> None:
    wrong = replace(ITEM.message.fields[0], text="E80AB")
    scores = score_answer((wrong,), "E8OAB")
    lines = score_lines(replace(attempt(""), scores=scores))
    assert lines[-1] == f"        Note: {scores[0].hint}."


class SilentOutput:
    """An audio output that plays nothing."""

    plays = False

    def play(self, clip: Clip, name: str) -> str:
        return ""

    def seconds_since_end(self) -> float:
        return 1.0

    def wait(self) -> None:
        pass

    def stop(self) -> None:
        pass


def begin_dialogue(
    store: Store, lines: list[str], monkeypatch: pytest.MonkeyPatch
) -> tuple[Session, Dialogue]:
    """Begin a session of one item whose trainee types these lines."""
    plan = Plan(seed=4, count=1, mix="unassigned", voices=("tin",))
    session = Session.begin(Practice(plan=plan), store, now=datetime.now(UTC))
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    return session, Dialogue(session, SilentOutput())


def fail_to_save(monkeypatch: pytest.MonkeyPatch, *, times: int) -> None:
    """Simulate a full disk for this many attempts to save."""
    add_attempt = Store.add_attempt
    failures = iter(range(times))

    def add(store: Store, session: str, number: int, attempt: Attempt) -> None:
        if next(failures, None) is not None:
            raise RecordUnavailable("the disk is full; free some space", kind="full")
        add_attempt(store, session, number, attempt)

    monkeypatch.setattr(Store, "add_attempt", add)


def test_an_answer_that_cannot_be_saved_is_kept_and_saved_later(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    fail_to_save(monkeypatch, times=2)
    with Store(record_file()) as store:
        session, dialogue = begin_dialogue(store, ["E8ABC", "", "", ""], monkeypatch)
        dialogue.run()
        (attempt,) = store.attempts(session.identity)
    assert attempt.answer.typed == "E8ABC"
    output = capsys.readouterr().out
    assert (
        output.count("Your answer 'E8ABC' could not be saved: the disk is full; free some space.")
        == 2
    )


def test_an_answer_that_is_abandoned_unsaved_is_named(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    fail_to_save(monkeypatch, times=9)
    with Store(record_file()) as store:
        session, dialogue = begin_dialogue(store, ["E8ABC", ""], monkeypatch)
        with pytest.raises(EOFError):
            dialogue.run()
        assert store.attempts(session.identity) == []
    assert (
        "Your answer 'E8ABC' was not saved. Everything before it is saved."
        in capsys.readouterr().out
    )


@pytest.mark.parametrize(
    ("typed", "stored"),
    [
        ("E8\udce4BC", "E8\N{REPLACEMENT CHARACTER}BC"),
        ("E8\x1b[DABC", "E8\N{REPLACEMENT CHARACTER}[DABC"),
        ("E8ABC\t59", "E8ABC 59"),
    ],
)
def test_foreign_bytes_and_control_characters_never_reach_the_record(
    typed: str, stored: str, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(record_file()) as store:
        session, dialogue = begin_dialogue(store, [typed, ""], monkeypatch)
        dialogue.run()
        (attempt,) = store.attempts(session.identity)
    assert attempt.answer.typed == stored
