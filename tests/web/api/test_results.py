"""The results of sessions in the API: endings, sentences, tables and pictures."""

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.blocks import measurement_blocks
from drill.web.api.states import load_session
from tests.drill.simulated_trainee import SimulatedTrainee
from tests.web.api.session_client import answer_to_end
from tests.web.client import begin_session, disable_prefetch, logged_in_client, post_answer


@pytest.fixture
def client(home: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    disable_prefetch(monkeypatch)
    return logged_in_client()


def test_the_result_of_a_measurement_is_that_of_its_record(client: TestClient) -> None:
    state = begin_session(client, "measurement", count=24, seed=3)
    answer_to_end(client, state, SimulatedTrainee(seed=4, x50_db=-9.0))
    result = client.get(f"/api/sessions/{state['id']}/result").json()
    with Store(record_file()) as store:
        (block,) = measurement_blocks(store)
        estimate = block.estimate()
        session = load_session(store, state["id"])
        part = session.result_blocks()[0]
    found = re.search(r"x50 ([+-]\d+\.\d) dB \(95 %: ([+-]\d+\.\d) to", result["sentences"][1])
    assert found
    assert float(found[1]) == pytest.approx(estimate.x50_db.value, abs=0.051)
    assert float(found[2]) == pytest.approx(estimate.x50_db.low, abs=0.051)
    lines = [" ".join(line.split()) for line in (*part.figures, *part.sentences)]
    assert lines == result["sections"][0]["sentences"]
    assert any(line.startswith("Power: ") for line in result["sentences"])
    table = result["tables"][0]
    assert table["head"] == ["SNR, 3 kHz", "copied", "share, 95 %", "curve"]
    assert sum(int(row[1].split(" of ")[1]) for row in table["rows"]) == 24
    assert result["picture"]["kind"] == "curve"
    assert (
        sum(
            point["interval"]["high"] >= point["interval"]["low"]
            for point in result["picture"]["data"]
        )
        > 1
    )
    ending = result["ending"]
    assert (ending["figure"], ending["unit"]) == (f"{estimate.x50_db.value:+.1f}", "dB")
    assert f"{estimate.x50_db.low:+.1f} and {estimate.x50_db.high:+.1f} dB" in ending["lead"]
    # 100 W at 10 dB; 20 W and 5 W are 7.0 and 13.0 dB weaker.
    assert [mark["db"] for mark in ending["ruler"]["marks"]] == pytest.approx(
        [10, 3.01, -3.01], abs=0.01
    )
    share = estimate.proportion_correct(-3.0103).value
    assert f"{100 * share:.0f} (" in ending["note"].rpartition("at 20 W, ")[2]


def test_a_second_block_is_pooled_with_the_first(client: TestClient) -> None:
    for seed in (3, 4):
        state = begin_session(client, "measurement", count=24, seed=seed)
        answer_to_end(client, state, SimulatedTrainee(seed=seed))
    result = client.get(f"/api/sessions/{state['id']}/result").json()
    assert result["sections"][1]["title"] == "All 2 comparable blocks together"
    assert result["sentences"][-1].startswith("Compared with the block before, x50 changed by")


def test_a_comparison_lists_its_alternatives_and_their_difference(client: TestClient) -> None:
    compare = {"option": "filter", "values": ["2600", "1800"]}
    state = begin_session(client, "comparison", count=8, seed=3, compare=compare)
    answer_to_end(client, state, SimulatedTrainee(seed=2))
    result = client.get(f"/api/sessions/{state['id']}/result").json()
    assert [row[0] for row in result["tables"][0]["rows"]] == ["2600", "1800"]
    difference = r"1800 compared with 2600: x50 differs by [+-]\d+\.\d dB "
    assert re.match(difference, result["sentences"][-1])
    assert result["picture"] is None
    (row,) = result["ending"]["picture"]["rows"]
    assert row["label"] == "1800"
    assert result["ending"]["title"].startswith(("1800 is", "No difference is shown"))


def test_a_quick_check_gives_a_character_threshold(client: TestClient) -> None:
    state = begin_session(client, "quick-check", seed=3)
    assert state["count"] == 30
    answer_to_end(client, state, SimulatedTrainee(seed=3, x50_db=-7.0))
    result = client.get(f"/api/sessions/{state['id']}/result").json()
    found = re.search(r"character threshold ([+-]\d+\.\d) dB", " ".join(result["sentences"]))
    assert found
    # Half of the characters at -7 dB with 50 % per dB on the logit: three quarters 2.2 dB higher.
    assert float(found[1]) == pytest.approx(-4.8, abs=1.5)
    ending = result["ending"]
    assert (ending["figure"], ending["unit"]) == (found[1], "dB")
    assert ending["lead"].startswith("At this SNR you copy 75 % of the characters.")


def test_the_ending_of_practice_counts_what_was_right_on_first_hearing(client: TestClient) -> None:
    state = begin_session(client, "practice", count=4, seed=3, snr_db=2)
    answer_to_end(client, state, SimulatedTrainee(seed=3, x50_db=-30.0))
    ending = client.get(f"/api/sessions/{state['id']}/result").json()["ending"]
    assert ending["figure"] == "4 of 4"
    assert ending["lamps"] == [True] * 4
    assert ending["lead"].startswith("Calls right on first hearing at +2.0 dB SNR; ")


def test_the_ending_of_first_steps_says_where_it_got_hard(client: TestClient) -> None:
    state = begin_session(client, "first-steps", count=12, seed=3)
    answer_to_end(client, state, SimulatedTrainee(seed=3, x50_db=90.0))
    ending = client.get(f"/api/sessions/{state['id']}/result").json()["ending"]
    assert "It was still hard without noise: " in ending["lead"]


def test_before_its_end_a_session_gives_its_standing_and_no_picture(client: TestClient) -> None:
    state = begin_session(client, "measurement", count=24, seed=3)
    reply = post_answer(client, state["id"], 0, "E8ABC").json()
    result = client.get(f"/api/sessions/{state['id']}/result").json()
    assert (result["finished"], result["picture"], result["ending"]) == (False, None, None)
    assert result["sentences"] == [reply["standing"]] == ["No estimate yet; 28 items to go."]
