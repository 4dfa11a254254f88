"""Two windows on one sitting: what one has answered, the other cannot answer again."""

import threading
from pathlib import Path

import pytest

from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.session import Session
from tests.web.client import answer, begin, unspoken, visitor


@pytest.fixture(autouse=True)
def own_home(home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    unspoken(monkeypatch)
    return home


def kept(identity: str) -> list[str]:
    with Store(record_file()) as store:
        return [attempt.answer.typed for attempt in store.attempts(identity)]


def test_the_second_answer_is_refused_and_told_the_state() -> None:
    one, other = visitor(), visitor()
    state = begin(one, count=3)
    first = answer(one, state["id"], 0, "E8AAA")
    second = answer(other, state["id"], 0, "E8BBB")
    assert (first.status_code, second.status_code) == (200, 409)
    assert second.json()["error"] == "item 1 has been answered already"
    assert second.json()["state"] == first.json()["state"]
    assert kept(state["id"]) == ["E8AAA"]
    assert answer(other, state["id"], 1, "E8CCC").status_code == 200
    assert answer(one, state["id"], 1, "E8DDD").status_code == 409
    assert kept(state["id"]) == ["E8AAA", "E8CCC"]


def test_the_same_answer_sent_twice_is_kept_once() -> None:
    """A page whose connection broke sends it again and goes on by the state in the refusal."""
    client = visitor()
    state = begin(client, count=2)
    answer(client, state["id"], 0, "E8AAA")
    again = answer(client, state["id"], 0, "E8AAA")
    assert again.status_code == 409
    assert again.json()["state"]["number"] == 1
    assert kept(state["id"]) == ["E8AAA"]


def test_both_at_the_same_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both have read that the item is open; the record's primary key lets one in."""
    clients = [visitor() for _ in range(4)]
    state = begin(clients[0], count=3)
    together = threading.Barrier(len(clients))
    answered = Session.answer

    def late(*words: object, **more: object) -> object:
        together.wait(10)
        return answered(*words, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Session, "answer", late)
    codes: dict[int, int] = {}

    def send(number: int) -> None:
        codes[number] = answer(clients[number], state["id"], 0, f"E8A{number}").status_code

    threads = [threading.Thread(target=send, args=(n,)) for n in range(len(clients))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(codes.values()) == [200, 409, 409, 409]
    (winner,) = [number for number, code in codes.items() if code == 200]
    assert kept(state["id"]) == [f"E8A{winner}"]


def test_a_finished_sitting_takes_no_more() -> None:
    client = visitor()
    state = begin(client, count=1)
    answer(client, state["id"], 0, "E8AAA")
    assert answer(client, state["id"], 1, "E8BBB").status_code == 400
    assert answer(client, state["id"], 0, "E8BBB").status_code == 409
    assert kept(state["id"]) == ["E8AAA"]
