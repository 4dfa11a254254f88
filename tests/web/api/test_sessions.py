"""Sittings of every kind through the API, as a page holds them."""

import re
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from drill.cli import main
from drill.core.paths import data_folder, record_file
from drill.records.store import Store
from drill.session import settings
from drill.session.blocks import measurement_blocks
from drill.session.kinds.measurement import Measurement
from drill.session.results import outcome
from drill.web.api.states import load_session
from tests.drill.typist import Typist
from tests.web.client import QUICK, answer, begin, present, truth, unspoken, visitor


@pytest.fixture(autouse=True)
def own_home(home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    unspoken(monkeypatch)
    return home


@pytest.fixture
def client() -> TestClient:
    return visitor()


def attend(client: TestClient, state: dict[str, Any], typist: Typist) -> list[dict[str, Any]]:
    """Answer a sitting to its end; return the replies."""
    replies: list[dict[str, Any]] = []
    while not state["finished"]:
        text = typist.types(present(state["id"]))
        reply = answer(client, state["id"], state["number"], text)
        assert reply.status_code == 200, reply.text
        replies.append(reply.json())
        state = replies[-1]["state"]
    return replies


def test_a_practice_sitting_is_heard_answered_and_told(client: TestClient) -> None:
    state = begin(client, count=2, seed=44, part="over", exchange="zone-itu", snr_db=-3)
    assert state["sentence"] == "2 items: SNR -3 dB in 3 kHz, steady path, seed 44."
    assert state["fiction"].startswith("Calls are fictional")
    assert (state["kind"], state["number"], state["finished"]) == ("practice", 0, False)
    assert (state["replays"], state["feedback"], state["items"]) == (True, True, "over")
    one = f"/api/sessions/{state['id']}"
    item = client.get(f"{one}/items/0").json()
    assert [field["name"] for field in item["fields"]] == ["call", "report", "zone"]
    sound = client.get(item["sound"])
    assert sound.headers["content-type"] == "audio/wav"
    assert (len(sound.content) - 44) / 2 / 16000 == pytest.approx(item["seconds"], abs=0.001)
    assert client.get(f"{one}/items/0/clean.wav").status_code == 404  # not before it is answered
    assert client.get(f"{one}/items/1").status_code == 404
    wrong = truth(present(state["id"]))[:-1] + "?"
    reply = answer(client, state["id"], 0, wrong, replays=2).json()
    assert reply["right"] is False
    assert reply["points"] == pytest.approx(100 * 2 / 3 * 0.64, abs=0.1)
    assert [field["right"] for field in reply["fields"]] == [True, True, False]
    assert reply["fields"][2]["pairs"][-1]["copied"] == "?"
    assert reply["standing"].endswith("1 to go.")
    assert reply["state"]["number"] == 1
    assert client.get(item["sound"]).content == sound.content  # again in the noise
    clean = client.get(f"{one}/items/0/clean.wav").content
    assert clean[:4] == b"RIFF"
    assert clean != sound.content
    last = answer(client, state["id"], 1, "", gave_up=True).json()
    assert last["state"]["finished"] is True
    assert client.get(f"{one}/items/2").status_code == 404
    result = client.get(f"{one}/result").json()
    assert result["sentences"] == [last["standing"]]
    with Store(record_file()) as store:
        first, second = store.attempts(state["id"])
    assert (first.answer.typed, first.answer.replays) == (wrong, 2)
    assert second.answer.gave_up


def test_training_asks_to_hear_a_miss_again(client: TestClient) -> None:
    state = begin(client, "training", count=2)
    assert "SNR by your answers" in state["sentence"]
    item = present(state["id"])
    assert answer(client, state["id"], 0, "??").json()["hear_again"] is True
    right = truth(present(state["id"]))
    assert answer(client, state["id"], 1, right).json()["hear_again"] is False
    assert item.conditions.snr_db is not None


def test_a_measuring_block_through_the_api(client: TestClient) -> None:
    """What comes out is what the record tells, and nothing is told before its end."""
    typist = Typist(seed=4, x50_db=-9.0)
    state = begin(client, "measuring", count=24, seed=3)
    assert (state["replays"], state["feedback"], state["count"]) == (False, False, 29)
    replies = attend(client, state, typist)
    assert len(replies) == 29
    for reply in replies:
        assert not {"right", "points", "fields"} & set(reply)
    assert client.get(f"/api/sessions/{state['id']}/items/3/noise.wav").status_code == 404
    result = client.get(f"/api/sessions/{state['id']}/result").json()
    with Store(record_file()) as store:
        (block,) = measurement_blocks(store)
        estimate = block.estimate()
        found = re.search(r"x50 ([+-]\d+\.\d) dB \(95 %: ([+-]\d+\.\d) to", result["sentences"][1])
        assert found
        assert float(found[1]) == pytest.approx(estimate.x50_db.value, abs=0.051)
        assert float(found[2]) == pytest.approx(estimate.x50_db.low, abs=0.051)
        practice = load_session(store, state["id"])
        told = [line for part in outcome(practice, store) for line in part.figures]
    assert [" ".join(line.split()) for line in told] == result["sections"][0]["sentences"][:-1]
    assert any("In watts" in line for line in result["sentences"])
    table = result["tables"][0]
    assert table["head"] == ["SNR, 3 kHz", "copied", "share, 95 %", "curve"]
    assert sum(int(row[1].split(" of ")[1]) for row in table["rows"]) == 24
    assert result["charts"][0]["svg"].startswith("<svg")


def test_a_second_block_is_pooled_with_the_first(client: TestClient) -> None:
    for seed in (3, 4):
        state = begin(client, "measuring", count=24, seed=seed)
        attend(client, state, Typist(seed=seed))
    result = client.get(f"/api/sessions/{state['id']}/result").json()
    assert result["sections"][1]["title"] == "All 2 blocks of this kind together"
    assert "Against the block before" in result["sentences"][-1]


def test_an_item_heard_twice_in_a_block_does_not_count(client: TestClient) -> None:
    state = begin(client, "measuring", count=20, seed=3)
    assert answer(client, state["id"], 0, "E8ABC", replays=1).status_code == 200
    with Store(record_file()) as store:
        practice = load_session(store, state["id"])
        assert practice.attempts
        assert practice.course.trials(practice.attempts) == []  # type: ignore[attr-defined]


def test_a_comparison_through_the_api(client: TestClient) -> None:
    compare = {"thing": "filter", "values": ["2600", "1800"]}
    state = begin(client, "comparing", count=8, seed=3, compare=compare)
    assert state["count"] == 21
    assert "1800" not in state["sentence"]
    replies = attend(client, state, Typist(seed=2))
    for reply in replies[:-1]:
        assert "1800" not in str(reply)
        assert re.fullmatch(r"\d+ to go\.", reply["standing"])
    result = client.get(f"/api/sessions/{state['id']}/result").json()
    assert [row[0] for row in result["tables"][0]["rows"]] == ["2600", "1800"]
    assert re.search(r"1800 against 2600: [+-]\d+\.\d dB needed", result["sentences"][-1])


def test_a_quick_check_through_the_api(client: TestClient) -> None:
    state = begin(client, "quick", seed=3)
    assert state["count"] == 30
    attend(client, state, Typist(seed=3, x50_db=-7.0))
    result = client.get(f"/api/sessions/{state['id']}/result").json()
    found = re.search(r"character threshold ([+-]\d+\.\d) dB", " ".join(result["sentences"]))
    assert found
    assert float(found[1]) == pytest.approx(-4.8, abs=1.5)


def test_a_block_of_the_page_goes_on_in_the_terminal_and_back(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    state = begin(client, count=3, seed=5)
    answer(client, state["id"], 0, "E8ABC")
    client.post("/api/cautions", json={"hearing": True})
    typed = iter(["E8AAA", "s"])
    monkeypatch.setattr("builtins.input", lambda _: next(typed))
    assert main(["copy", "--continue", "--audio-to", str(tmp_path)]) == 0
    (seen,) = client.get("/api/sessions").json()["open"]
    assert (seen["id"], seen["number"]) == (state["id"], 2)
    assert answer(client, state["id"], 2, "E8BBB").json()["state"]["finished"]
    assert client.get("/api/sessions").json()["open"] == []


@pytest.mark.parametrize(
    ("kind", "choices", "told"),
    [
        ("practice", {"part": "all"}, "part 'all' is unknown; choose one of call, exchange, over"),
        ("practice", {"count": 0}, "count 0 is out of range; allowed are 1 to 100000"),
        ("practice", {"count": 2.5}, "count 2.5 is no whole number"),
        ("practice", {"snr_db": 99}, "SNR 99 dB is out of range"),
        ("practice", {"snr_db": "loud"}, "snr_db 'loud' is no number"),
        ("practice", {"snr_db": 3, "watts": 5}, "the SNR and the watts say the same thing twice"),
        ("practice", {"path_snr_db": 5}, "the SNR of the path goes with the watts"),
        ("practice", {"conditions": "../x"}, "conditions preset '../x' is unknown"),
        ("practice", {"exchange": "../../x"}, "'../../x'"),
        ("practice", {"mix": "../x"}, "mix '../x' is unknown"),
        ("practice", {"voices": ["nobody"]}, "no operator 'nobody'"),
        ("practice", {"voices": "rivet"}, "voices 'rivet' is no list"),
        ("practice", {"volume": 1}, "'volume' is unknown"),
        ("training", {"snr_db": 3}, "the SNR follows you; leave out the SNR and the watts"),
        ("measuring", {"watts": 3}, "measuring chooses the SNR itself"),
        ("measuring", {"part": "over"}, "measuring is of whole calls"),
        ("measuring", {"until_db": 0.1}, "an interval of 0.1 dB; allowed are 0.5 to 10"),
        ("comparing", {}, "say what to compare"),
        ("comparing", {"compare": {"thing": "filter", "values": ["1800"]}}, "two or more"),
        ("comparing", {"compare": {"thing": "x", "values": []}}, "'x' cannot be compared"),
        ("hunting", {}, "a sitting of the kind 'hunting' is unknown"),
    ],
)
def test_a_wrong_choice_is_told_in_one_line(
    client: TestClient, kind: str, choices: dict[str, Any], told: str
) -> None:
    reply = client.post("/api/sessions", json={"kind": kind, **QUICK, **choices})
    assert reply.status_code == 400
    assert told in reply.json()["error"]
    assert "\n" not in reply.json()["error"]
    assert "--" not in reply.json()["error"]
    assert client.get("/api/history").json() == {"sittings": []}


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ({"number": 1}, "item 2 has not been heard yet"),
        ({"number": -1}, "item 0 has been answered already"),
        ({"number": "0"}, "number '0' is no whole number"),
        ({"text": ""}, "an empty line is no answer"),
        ({"text": " \t\n"}, "an empty line is no answer"),
        ({"text": "x" * 501}, "text has 501 characters"),
        ({"text": 5}, "text 5 is no text"),
        ({"seconds": -1}, "seconds -1 is out of range"),
        ({"seconds": None}, "seconds is missing"),
        ({"replays": 1001}, "replays 1001 is out of range"),
        ({"gave_up": "no"}, "gave_up 'no' is neither true nor false"),
        ({"snr_db": 3}, "'snr_db' is unknown"),
    ],
)
def test_a_wrong_answer_is_not_kept(client: TestClient, body: dict[str, Any], told: str) -> None:
    state = begin(client)
    whole = {"number": 0, "text": "E8ABC", "seconds": 1.0, **body}
    reply = client.post(f"/api/sessions/{state['id']}/answers", json=whole)
    assert reply.status_code in (400, 409)
    assert told in reply.json()["error"]
    assert client.get(f"/api/sessions/{state['id']}").json()["number"] == 0


def test_no_noise_is_a_null(client: TestClient) -> None:
    assert "no noise" in begin(client, snr_db=None)["sentence"]
    assert "SNR 0 dB" in begin(client)["sentence"]
    assert begin(client, "measuring", snr_db=None)["kind"] == "measuring"


def test_what_was_chosen_last_is_offered_again(client: TestClient) -> None:
    begin(client, count=7, seed=9, snr_db=-2)
    values = client.get("/api/settings").json()["values"]
    assert values["last_practice"] == {**QUICK, "count": 7, "snr_db": -2}
    assert values["last_measuring"] is None


def test_settings_are_kept_all_or_none(client: TestClient) -> None:
    found = client.post("/api/settings", json={"values": {"volume": 1, "scheme": "dark"}}).json()
    assert (found["values"]["volume"], found["values"]["scheme"]) == (1.0, "dark")
    assert set(found["says"]) == set(found["values"]) == set(settings.known_settings())
    for values, told in (
        ({"volume": 0.1, "scheme": "red"}, "scheme 'red' is unknown"),
        ({"volume": 1.01}, "volume 1.01 is out of range; allowed are 0 to 1"),
        ({"volume": True}, "volume has to be a number"),
        ({"auto_next_s": -1}, "auto_next_s -1 is out of range"),
        ({"speech_side": ["left"]}, "is unknown; choose one of both, left, right"),
        ({"last_practice": 3}, "has to be the choices of a sitting"),
        ({"last_practice": {"mix": "y" * 9000}}, "too long"),
        ({"last_practice": {"call": "E8ABC"}}, "last_practice: 'call' is no choice"),
        ({"colour": 1}, "'colour' is no setting"),
    ):
        reply = client.post("/api/settings", json={"values": values})
        assert reply.status_code == 400
        assert told in reply.json()["error"]
    assert visitor().get("/api/settings").json()["values"] == found["values"]


def test_a_setting_that_cannot_be_read_is_as_by_default(client: TestClient) -> None:
    with Store(record_file()) as store:
        store.set_setting("volume", "{")
        store.set_setting("scheme", '"red"')
    values = client.get("/api/settings").json()["values"]
    assert (values["volume"], values["scheme"]) == (0.5, "system")


def test_the_caution_is_one_for_page_and_terminal(client: TestClient) -> None:
    assert client.get("/api/cautions").json() == {"hearing": False}
    assert client.post("/api/cautions", json={"hearing": False}).json() == {"hearing": False}
    assert client.post("/api/cautions", json={"hearing": True}).json() == {"hearing": True}
    with Store(record_file()) as store:
        assert store.has_seen("hearing")


def test_history_tells_sittings_and_their_answers(client: TestClient) -> None:
    assert client.get("/api/history").json() == {"sittings": []}
    first = begin(client, count=2, seed=5, snr_db=-3)
    answer(client, first["id"], 0, truth(present(first["id"])))
    block = begin(client, "measuring", count=20)
    answer(client, block["id"], 0, "E8ABC")
    rows = client.get("/api/history").json()["sittings"]
    assert [row["id"] for row in rows] == [block["id"], first["id"]]
    assert (rows[1]["answered"], rows[1]["right"], rows[1]["points"]) == (1, 1, 100.0)
    assert (rows[1]["snr"], rows[0]["snr"], rows[1]["open"]) == ("-3.0 dB", "by answers", True)
    assert len(client.get("/api/history?limit=1").json()["sittings"]) == 1
    for limit in ("0", "-1", "x", "1e3", "9" * 30, "\u00b2"):
        assert client.get("/api/history", params={"limit": limit}).status_code == 400
    told = client.get(f"/api/history/{first['id']}").json()
    assert told["answers"][0]["right"] is True
    withheld = client.get(f"/api/history/{block['id']}").json()
    assert (withheld["answers"], withheld["withheld"]) == ([], True)
    assert client.get("/api/history/none").status_code == 404


def test_the_report_follows_the_record(client: TestClient) -> None:
    assert client.get("/api/report").json()["enough"] is False
    state = begin(client, "measuring", count=24, seed=3)
    attend(client, state, Typist(seed=4))
    found = client.get("/api/report").json()
    assert found["enough"] is True
    assert found["sections"][0]["title"].startswith("Measuring blocks")
    assert found["sections"][0]["tables"][0]["rows"]
    assert client.get("/api/report").json() == found
    answer(client, begin(client)["id"], 0, "E8ABC")
    assert client.get("/api/report").json()["sentence"].startswith("30 answers in 2 sittings")


def test_choices_are_those_of_the_terminal(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    found = client.get("/api/choices").json()
    assert main(["choices"]) == 0
    words = capsys.readouterr().out
    for kind in ("exchanges", "mixes", "conditions", "fading", "receivers"):
        assert found[kind]
        for entry in found[kind]:
            assert entry["name"] in words
            assert entry["says"]
    assert {one["name"] for one in found["voices"]["operators"]} >= {"birch", "rivet"}
    begin(
        client, **{k: v for k, v in found["defaults"].items() if k not in ("kind", "path_snr_db")}
    )
    for thing in found["compare"]:
        values = [entry["name"] for entry in thing["values"][:2]]
        compare = {"thing": thing["name"], "values": values}
        assert begin(client, "comparing", count=1, compare=compare)["kind"] == "comparing"


@pytest.mark.parametrize(("kind", "other"), [("exchanges", "serial"), ("conditions", "plain")])
def test_an_own_file_that_is_wrong_closes_no_other(
    client: TestClient, kind: str, other: str
) -> None:
    folder = data_folder() / kind
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text("title = 3")
    found = {entry["name"]: entry for entry in client.get("/api/choices").json()[kind]}
    assert found["mine"]["problem"] is True
    assert found["mine"]["says"].startswith("cannot be used: ")
    assert "problem" not in found[other]


def test_a_machine_that_lacks_something_says_so(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from drill import voices
    from drill.core.errors import NoVoice

    def lacking(*_: object) -> None:
        raise NoVoice("no voice here: install one")

    state = begin(client)
    monkeypatch.setattr(voices, "speak", lacking)
    reply = client.get(f"/api/sessions/{state['id']}/items/0")
    assert (reply.status_code, reply.json()) == (503, {"error": "no voice here: install one"})


def test_a_record_that_cannot_be_used_is_told(client: TestClient, home: Path) -> None:
    record_file().parent.mkdir(parents=True, exist_ok=True)
    record_file().write_bytes(b"no record at all, and long enough to be looked at" * 30)
    reply = client.get("/api/history")
    assert reply.status_code == 400
    assert "cannot be used" in reply.json()["error"]


def test_a_record_that_another_program_holds_can_be_read(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from drill.records import store as records

    state = begin(client)
    monkeypatch.setattr(records, "WAIT_S", 0.2)
    with Store(record_file()) as store:
        with store.transaction(writes=True):
            assert client.get(f"/api/sessions/{state['id']}").json()["number"] == 0
            reply = answer(client, state["id"], 0, "E8ABC")
            assert reply.status_code == 503
            assert "is locked" in reply.json()["error"]
        assert answer(client, state["id"], 0, "E8ABC").status_code == 200


def test_a_sitting_of_a_newer_program_closes_no_other(client: TestClient) -> None:
    state = begin(client)
    answer(client, state["id"], 0, "E8ABC")
    with Store(record_file()) as store, store.transaction(writes=True) as db:
        db.execute("UPDATE sitting SET mode = 'flying'")
    assert client.get("/api/sessions").json() == {"open": []}
    assert client.get("/api/history").json()["sittings"][0]["kind"] == "flying"
    reply = client.get(f"/api/sessions/{state['id']}")
    assert reply.status_code == 400
    assert "newer faintcall" in reply.json()["error"]


def test_measuring_here_is_measuring_there(client: TestClient) -> None:
    """The page's block has the same course as the terminal's."""
    state = begin(client, "measuring", seed=3, count=20)
    with Store(record_file()) as store:
        course = load_session(store, state["id"]).course
        assert course == Measurement.from_plan(course.plan, store)
