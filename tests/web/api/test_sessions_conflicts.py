"""/api/sessions from two windows: an item that one has answered cannot be answered by the other."""

import threading

import pytest

from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.session import Session
from tests.web.client import begin_session, disable_prefetch, logged_in_client, post_answer


@pytest.fixture(autouse=True)
def empty_home_without_prefetch(home: object, monkeypatch: pytest.MonkeyPatch) -> None:
    disable_prefetch(monkeypatch)


def stored_answers(session: str) -> list[str]:
    with Store(record_file()) as store:
        return [attempt.answer.typed for attempt in store.attempts(session)]


def test_second_answer_is_refused_with_the_current_state() -> None:
    first_window, second_window = logged_in_client(), logged_in_client()
    session = begin_session(first_window, count=3)["id"]
    first = post_answer(first_window, session, 0, "E8AAA")
    second = post_answer(second_window, session, 0, "E8BBB")
    assert (first.status_code, second.status_code) == (200, 409)
    assert second.json()["error"] == "item 1 already has an answer"
    assert second.json()["state"] == first.json()["state"]
    assert stored_answers(session) == ["E8AAA"]
    assert post_answer(second_window, session, 1, "E8CCC").status_code == 200
    assert post_answer(first_window, session, 1, "E8DDD").status_code == 409
    assert stored_answers(session) == ["E8AAA", "E8CCC"]


def test_answer_that_is_sent_twice_is_stored_once() -> None:
    """A page that lost its connection repeats the request and continues from the refusal."""
    client = logged_in_client()
    session = begin_session(client, count=2)["id"]
    post_answer(client, session, 0, "E8AAA")
    repeated = post_answer(client, session, 0, "E8AAA")
    assert repeated.status_code == 409
    assert repeated.json()["state"]["number"] == 1
    assert stored_answers(session) == ["E8AAA"]


def test_only_one_of_several_simultaneous_answers_is_stored(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """All requests have read that the item is open; the record's primary key admits one."""
    clients = [logged_in_client() for _ in range(4)]
    session = begin_session(clients[0], count=3)["id"]
    all_loaded = threading.Barrier(len(clients))
    answer = Session.answer

    def answer_together(*positional: object, **keyword: object) -> object:
        all_loaded.wait(60)
        return answer(*positional, **keyword)  # type: ignore[arg-type]

    monkeypatch.setattr(Session, "answer", answer_together)
    statuses: dict[int, int] = {}

    def send(number: int) -> None:
        response = post_answer(clients[number], session, 0, f"E8A{number}")
        statuses[number] = response.status_code

    threads = [threading.Thread(target=send, args=(n,)) for n in range(len(clients))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses.values()) == [200, 409, 409, 409]
    (winner,) = [number for number, status in statuses.items() if status == 200]
    assert stored_answers(session) == [f"E8A{winner}"]


def test_finished_session_takes_no_more_answers() -> None:
    client = logged_in_client()
    session = begin_session(client, count=1)["id"]
    post_answer(client, session, 0, "E8AAA")
    assert post_answer(client, session, 1, "E8BBB").status_code == 400
    assert post_answer(client, session, 0, "E8BBB").status_code == 409
    assert stored_answers(session) == ["E8AAA"]
