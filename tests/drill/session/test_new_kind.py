"""A new kind of session takes one class and one registration; terminal and page both run it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from drill.cli import main
from drill.core.models import Attempt, Item
from drill.core.paths import record_file
from drill.core.text_blocks import Passage
from drill.records.store import Store
from drill.session import kinds
from drill.session.kinds.base import SessionKind, item_at_snr
from drill.session.options import PLAN_OPTIONS
from tests.drill.simulated_trainee import SimulatedTrainee, answer_prompts
from tests.web.client import (
    begin_session,
    correct_answer,
    current_item,
    disable_prefetch,
    logged_in_client,
    post_answer,
)


@dataclass(frozen=True, kw_only=True)
class Ladder(SessionKind):
    """Every right answer takes 2 dB off the SNR, from 10 dB; a wrong one changes nothing."""

    name = "ladder"
    stored_name = "ladder"
    title = "Ladder"
    sentence = "Each right answer makes the next item 2 dB harder."
    default_count = 4
    options = PLAN_OPTIONS
    allows_replays = False

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        snr_db = 10.0 - 2.0 * sum(attempt.right for attempt in attempts[:number])
        return item_at_snr(self.spoken_item(number), snr_db)

    def result_blocks(self, attempts: Sequence[Attempt], store: Store) -> list[Passage]:
        steps = sum(attempt.right for attempt in attempts)
        return [Passage(title="This ladder", sentences=(f"You climbed {steps} steps.",))]


@pytest.fixture(autouse=True)
def ladder(home: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Register the kind for one test, and confirm the caution about hearing."""
    monkeypatch.setattr(kinds, "_registry", dict(kinds._registry))
    kinds.register(Ladder)
    disable_prefetch(monkeypatch)
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    yield


def recorded_levels() -> tuple[str, list[float | None]]:
    """Return stored name and SNRs of the newest session of the record."""
    with Store(record_file()) as store:
        (record,) = store.sessions(1)
        attempts = store.attempts(record.id)
    return record.mode, [attempt.item.conditions.snr_db for attempt in attempts]


def run_copy(tmp_path: Path, *words: str) -> int:
    return main(["copy", *words, "--audio-to", str(tmp_path / "sounds")])


def test_the_terminal_runs_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answer_prompts(monkeypatch, SimulatedTrainee(x50_db=-60.0))
    new = ("--kind", "ladder", "--voices", "tin", "--mix", "unassigned")
    assert run_copy(tmp_path, *new) == 0
    output = capsys.readouterr().out
    assert "4 items: SNR set by your answers" in output
    assert "4 of 4 right on first hearing" in output
    assert "This ladder:\nYou climbed 4 steps." in output
    assert recorded_levels() == ("ladder", [10.0, 8.0, 6.0, 4.0])
    assert main(["history"]) == 0
    assert "ladder" in capsys.readouterr().out
    assert run_copy(tmp_path, *new, "--snr", "3") == 2
    assert "'ladder'" in capsys.readouterr().err


def test_the_terminal_continues_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stop_at_third_item(prompt: str, item: int) -> str | None:
        if item == 2:
            raise EOFError
        return None

    answer_prompts(monkeypatch, SimulatedTrainee(x50_db=-60.0), stop_at_third_item)
    run_copy(tmp_path, "--kind", "ladder", "--voices", "tin", "--mix", "unassigned")
    assert "Continue with: faintcall copy --continue" in capsys.readouterr().out
    answer_prompts(monkeypatch, SimulatedTrainee(x50_db=-60.0))
    assert run_copy(tmp_path, "--continue") == 0
    assert "You climbed 4 steps." in capsys.readouterr().out


def test_help_and_catalogue_name_it(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["copy", "--help"])
    assert "ladder" in capsys.readouterr().out
    choices: dict[str, Any] = logged_in_client().get("/api/choices").json()
    assert choices["counts"]["ladder"] == 4
    (entry,) = [kind for kind in choices["kinds"] if kind["name"] == "ladder"]
    assert (entry["title"], entry["says"]) == (Ladder.title, Ladder.sentence)


def test_the_page_runs_it() -> None:
    client = logged_in_client()
    state = begin_session(client, "ladder", seed=3)
    assert (state["kind"], state["title"], state["page"]) == ("ladder", "Ladder", "/practise")
    assert (state["count"], state["replays"], state["feedback"]) == (4, False, True)
    session = state["id"]
    for number in range(4):
        assert client.get("/api/sessions").json()["open"][:1] == ([state] if number else [])
        text = "E8?" if number == 1 else correct_answer(current_item(session))
        reply = post_answer(client, session, number, text).json()
        assert reply["right"] == (number != 1)
        state = reply["state"]
    assert state["finished"]
    result = client.get(f"/api/sessions/{session}/result").json()
    assert result["sentences"] == ["This ladder:", "You climbed 3 steps."]
    (row,) = client.get("/api/history").json()["sessions"]
    assert (row["kind"], row["title"], row["snr"], row["right"]) == (
        "ladder",
        "Ladder",
        "by answers",
        3,
    )
    assert client.get("/api/settings").json()["values"]["last_ladder"]["voices"] == ["rivet"]
    assert recorded_levels() == ("ladder", [10.0, 8.0, 8.0, 6.0])
