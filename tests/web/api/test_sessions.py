"""/api/sessions: sessions of every kind, begun, heard, answered and continued over HTTP."""

import re
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from drill.cli import main
from drill.core.models import Item
from drill.core.paths import record_file
from drill.items import prefetch
from drill.records.store import Store
from drill.session.attempts import trials_of
from drill.session.kinds.measurement import Measurement
from drill.web.api.states import load_session
from tests.drill.simulated_trainee import SimulatedTrainee
from tests.web.api.session_client import answer_to_end
from tests.web.client import (
    FAST_OPTIONS,
    begin_session,
    correct_answer,
    current_item,
    disable_prefetch,
    logged_in_client,
    post_answer,
)


@pytest.fixture(autouse=True)
def own_home(home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    disable_prefetch(monkeypatch)
    return home


@pytest.fixture
def client() -> TestClient:
    return logged_in_client()


def test_a_practice_session_from_its_first_item_to_its_result(client: TestClient) -> None:
    state = begin_session(client, count=2, seed=44, part="over", exchange="zone-itu", snr_db=-3)
    assert state["sentence"] == "2 items: SNR -3 dB in 3 kHz, steady path, seed 44."
    assert state["fiction"].startswith("Calls are fictional")
    assert (state["kind"], state["number"], state["finished"]) == ("practice", 0, False)
    assert (state["title"], state["page"]) == ("Practice", "/practise")
    assert (state["replays"], state["feedback"], state["items"]) == (True, True, "over")
    path = f"/api/sessions/{state['id']}"
    item = client.get(f"{path}/items/0").json()
    assert [field["name"] for field in item["fields"]] == ["call", "report", "zone"]
    sound = client.get(item["sound"])
    assert sound.headers["content-type"] == "audio/wav"
    assert (len(sound.content) - 44) / 2 / 16000 == pytest.approx(item["seconds"], abs=0.001)
    # The clean sound is not available before the item is answered.
    assert client.get(f"{path}/items/0/clean.wav").status_code == 404
    assert client.get(f"{path}/items/1").status_code == 404
    wrong = correct_answer(current_item(state["id"]))[:-1] + "?"
    reply = post_answer(client, state["id"], 0, wrong, replays=2).json()
    assert reply["right"] is False
    assert "points" not in reply
    assert [field["right"] for field in reply["fields"]] == [True, True, False]
    assert reply["fields"][2]["pairs"][-1]["typed"] == "?"
    assert reply["standing"].endswith("1 item to go.")
    assert reply["state"]["number"] == 1
    assert client.get(item["sound"]).content == sound.content  # again in noise
    clean = client.get(f"{path}/items/0/clean.wav").content
    assert clean[:4] == b"RIFF"
    assert clean != sound.content
    last = post_answer(client, state["id"], 1, "", gave_up=True).json()
    assert last["state"]["finished"] is True
    assert client.get(f"{path}/items/2").status_code == 404
    assert client.get(f"{path}/result").json()["sentences"] == [last["standing"]]
    with Store(record_file()) as store:
        first, second = store.attempts(state["id"])
    assert (first.answer.typed, first.answer.replays) == (wrong, 2)
    assert second.answer.gave_up


def test_training_asks_to_hear_a_miss_again(client: TestClient) -> None:
    state = begin_session(client, "training", count=2)
    assert "SNR set by your answers" in state["sentence"]
    assert current_item(state["id"]).conditions.snr_db is not None
    assert post_answer(client, state["id"], 0, "??").json()["hear_again"] is True
    right = correct_answer(current_item(state["id"]))
    assert post_answer(client, state["id"], 1, right).json()["hear_again"] is False


def test_a_measurement_gives_no_score_and_no_replay(client: TestClient) -> None:
    state = begin_session(client, "measurement", count=24, seed=3)
    assert (state["replays"], state["feedback"], state["count"]) == (False, False, 29)
    assert (state["kind"], state["title"], state["page"]) == (
        "measurement",
        "Measurement",
        "/measure",
    )
    replies = answer_to_end(client, state, SimulatedTrainee(seed=4, x50_db=-9.0))
    assert len(replies) == 29
    for reply in replies:
        assert not {"right", "points", "fields"} & set(reply)
    assert client.get(f"/api/sessions/{state['id']}/items/3/noise.wav").status_code == 404


def test_an_item_heard_twice_in_a_measurement_does_not_count(client: TestClient) -> None:
    state = begin_session(client, "measurement", count=20, seed=3)
    assert post_answer(client, state["id"], 0, "E8ABC", replays=1).status_code == 200
    with Store(record_file()) as store:
        attempts = load_session(store, state["id"]).attempts
    assert attempts
    assert trials_of(attempts) == []


def test_a_comparison_is_blind(client: TestClient) -> None:
    compare = {"option": "filter", "values": ["2600", "1800"]}
    state = begin_session(client, "comparison", count=8, seed=3, compare=compare)
    assert state["count"] == 21
    assert (state["page"], "1800" in state["sentence"]) == ("/compare", False)
    for reply in answer_to_end(client, state, SimulatedTrainee(seed=2)):
        assert "1800" not in str(reply)
        assert re.fullmatch(r"\d+ items? to go\.", reply["standing"])


def test_a_session_begun_on_the_page_continues_in_the_terminal_and_back(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    state = begin_session(client, count=3, seed=5)
    post_answer(client, state["id"], 0, "E8ABC")
    client.post("/api/cautions", json={"hearing": True})
    lines = iter(["E8AAA", "s"])
    monkeypatch.setattr("builtins.input", lambda _: next(lines))
    assert main(["copy", "--continue", "--audio-to", str(tmp_path)]) == 0
    (open_session,) = client.get("/api/sessions").json()["open"]
    assert (open_session["id"], open_session["number"]) == (state["id"], 2)
    assert post_answer(client, state["id"], 2, "E8BBB").json()["state"]["finished"]
    assert client.get("/api/sessions").json()["open"] == []


def test_a_measurement_is_the_same_on_the_page_and_in_the_terminal(client: TestClient) -> None:
    state = begin_session(client, "measurement", seed=3, count=20)
    with Store(record_file()) as store:
        kind = load_session(store, state["id"]).kind
        assert kind == Measurement.from_plan(kind.plan, store)


@pytest.mark.parametrize("stored_name", ["measuring", "quick"])
def test_kinds_named_as_in_version_0_2_0_begin_sessions(
    client: TestClient, stored_name: str
) -> None:
    kind = begin_session(client, stored_name)["kind"]
    assert kind == {"measuring": "measurement", "quick": "quick-check"}[stored_name]


@pytest.mark.parametrize(
    ("kind", "options", "message", "field"),
    [
        ("practice", {"part": "all"}, "part 'all' is unknown; choose one of call", "part"),
        ("practice", {"count": 0}, "count 0 is out of range; allowed are 1 to 100000", "count"),
        ("practice", {"count": 2.5}, "count has to be a whole number", "count"),
        ("practice", {"snr_db": 99}, "SNR 99 dB is out of range", "snr_db"),
        ("practice", {"snr_db": "loud"}, "snr_db has to be a number", "snr_db"),
        ("practice", {"snr_db": 3, "watts": 5}, "give only one of them", "watts"),
        ("practice", {"path_snr_db": 5}, "needs a power in watts", "path_snr_db"),
        ("practice", {"conditions": "../x"}, "'../x'", "conditions"),
        ("practice", {"exchange": "../../x"}, "'../../x'", "exchange"),
        ("practice", {"mix": "../x"}, "mix '../x' is unknown", "mix"),
        ("practice", {"voices": ["nobody"]}, "unknown operator 'nobody'", "voices"),
        ("practice", {"voices": "rivet"}, "voices has to be a list, not 'rivet'", "voices"),
        ("practice", {"volume": 1}, "unknown entry 'volume'", "volume"),
        ("practice", {"until_db": 2}, "'practice' does not take 'until_db'", "until_db"),
        ("training", {"snr_db": 3}, "leave out the SNR and the power", "snr_db"),
        ("measurement", {"watts": 3}, "leave out the SNR and the power", "watts"),
        ("measurement", {"part": "over"}, "part 'over' cannot be measured", "part"),
        ("measurement", {"until_db": 0.1}, "allowed are 0.5 to 10 dB", "until_db"),
        ("comparison", {}, "nothing to compare", "compare"),
        (
            "comparison",
            {"compare": {"option": "filter", "values": ["1800"]}},
            "two or more different values",
            "compare.values",
        ),
        ("comparison", {"compare": {"option": "x"}}, "'x' cannot be compared", "compare.option"),
        ("comparison", {"compare": {}}, "compare.option is missing", "compare.option"),
        ("hunting", {}, "unknown kind of session 'hunting'", "kind"),
        (7, {}, "kind has to be text, not 7", "kind"),
        (None, {}, "kind has to be text, not null", "kind"),
    ],
)
def test_a_wrong_option_is_refused_with_its_field(
    client: TestClient, kind: Any, options: dict[str, Any], message: str, field: str
) -> None:
    response = client.post("/api/sessions", json={"kind": kind, **FAST_OPTIONS, **options})
    assert response.status_code == 400
    error = response.json()["error"]
    assert message in error
    assert response.json()["field"] == field
    assert "\n" not in error
    assert "--" not in error
    assert client.get("/api/sessions").json() == {"open": []}


@pytest.mark.parametrize(
    ("body", "message", "field"),
    [
        ({"number": 1}, "item 2 has not been played yet", "number"),
        ({"number": -1}, "item 0 already has an answer", "number"),
        ({"number": "0"}, "number has to be a whole number, not '0'", "number"),
        ({"text": ""}, "the answer is empty", "text"),
        ({"text": " \t\n"}, "the answer is empty", "text"),
        ({"text": "x" * 501}, "text has 501 characters", "text"),
        ({"text": 5}, "text has to be text, not 5", "text"),
        ({"seconds": -1}, "seconds -1 is out of range", "seconds"),
        ({"seconds": None}, "seconds is missing", "seconds"),
        ({"replays": 1001}, "replays 1001 is out of range", "replays"),
        ({"gave_up": "no"}, "gave_up has to be true or false, not 'no'", "gave_up"),
        ({"snr_db": 3}, "unknown entry 'snr_db'", "snr_db"),
    ],
)
def test_a_wrong_answer_is_refused_with_its_field(
    client: TestClient, body: dict[str, Any], message: str, field: str
) -> None:
    state = begin_session(client)
    answer = {"number": 0, "text": "E8ABC", "seconds": 1.0, **body}
    response = client.post(f"/api/sessions/{state['id']}/answers", json=answer)
    assert response.status_code in (400, 409)
    assert message in response.json()["error"]
    assert response.json()["field"] == field
    assert client.get(f"/api/sessions/{state['id']}").json()["number"] == 0


def test_a_null_snr_asks_for_no_noise_where_the_snr_is_an_option(client: TestClient) -> None:
    assert "no noise" in begin_session(client, snr_db=None)["sentence"]
    assert "SNR 0 dB" in begin_session(client)["sentence"]
    assert begin_session(client, "measurement", snr_db=None)["kind"] == "measurement"


def test_the_last_form_of_a_kind_is_kept_without_its_seed(client: TestClient) -> None:
    begin_session(client, count=7, seed=9, snr_db=-2)
    begin_session(client, "quick-check", count=8)
    values = client.get("/api/settings").json()["values"]
    assert values["last_practice"] == {**FAST_OPTIONS, "count": 7, "snr_db": -2}
    assert values["last_quick-check"] == {**FAST_OPTIONS, "count": 8}
    assert values["last_measurement"] is None


def test_a_session_of_a_newer_version_hides_no_other(client: TestClient) -> None:
    newer = begin_session(client)
    post_answer(client, newer["id"], 0, "E8ABC")
    with Store(record_file()) as store, store.transaction(writes=True) as db:
        db.execute("UPDATE sitting SET mode = 'flying'")
    other = begin_session(client)
    post_answer(client, other["id"], 0, "E8ABC")
    open_sessions = client.get("/api/sessions").json()["open"]
    assert [state["id"] for state in open_sessions] == [other["id"]]
    response = client.get(f"/api/sessions/{newer['id']}")
    assert response.status_code == 400
    assert "newer faintcall" in response.json()["error"]


def test_an_unknown_session_is_not_found(client: TestClient) -> None:
    for path in ("", "/result", "/items/0", "/items/0/noise.wav"):
        assert client.get(f"/api/sessions/none{path}").status_code == 404
    assert post_answer(client, "none", 0, "E8ABC").status_code == 404


def test_the_first_items_are_synthesised_while_the_page_loads(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    requested: list[Item] = []

    def note(item: Item) -> "Future[None]":
        requested.append(item)
        return Future()

    monkeypatch.setattr(prefetch, "prefetch_item", note)
    state = begin_session(client, count=20, seed=44)
    with Store(record_file()) as store:
        kind = load_session(store, state["id"]).kind
    assert requested == [kind.spoken_item(number) for number in range(prefetch.PREFETCH_DEPTH)]


def test_an_answer_in_code_words_is_questioned_before_it_is_stored(client: TestClient) -> None:
    session = begin_session(client, count=2, seed=5)["id"]
    reply = post_answer(client, session, 0, "echo eight x ray").json()
    assert list(reply) == ["question"]
    assert "E8X" in reply["question"]
    assert client.get(f"/api/sessions/{session}").json()["number"] == 0
    reply = post_answer(client, session, 0, "echo eight x ray", as_typed=True).json()
    assert reply["fields"][0]["typed"].replace(" ", "") == "ECHOEIGHTXRAY"
    assert reply["state"]["number"] == 1


def test_numbers_in_words_are_answers(client: TestClient) -> None:
    session = begin_session(client, count=2, seed=5, part="exchange")["id"]
    assert "question" not in post_answer(client, session, 0, "five nine fourteen").json()
