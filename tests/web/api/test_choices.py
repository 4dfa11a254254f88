"""/api/choices."""

import pytest
from starlette.testclient import TestClient

from drill.cli import main
from drill.core.paths import data_folder
from drill.session.kinds import registered_kinds
from tests.web.client import begin_session


def test_choices_are_those_that_the_terminal_lists(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    choices = client.get("/api/choices").json()
    assert main(["choices"]) == 0
    output = capsys.readouterr().out
    for kind in ("exchanges", "mixes", "conditions", "fading", "receivers"):
        assert choices[kind]
        for entry in choices[kind]:
            assert entry["name"] in output
            assert entry["says"]
    assert {operator["name"] for operator in choices["voices"]["operators"]} >= {"birch", "rivet"}
    assert [kind["name"] for kind in choices["kinds"]] == [kind.name for kind in registered_kinds()]


def test_every_choice_begins_a_session(client: TestClient) -> None:
    choices = client.get("/api/choices").json()
    unusable = ("kind", "path_snr_db")  # the SNR of the path goes with a power only
    defaults = {name: v for name, v in choices["defaults"].items() if name not in unusable}
    begin_session(client, **defaults)
    for option in choices["compare"]:
        values = [entry["name"] for entry in option["values"][:2]]
        compare = {"option": option["name"], "values": values}
        state = begin_session(client, "comparison", count=1, compare=compare)
        assert state["kind"] == "comparison"


@pytest.mark.parametrize(("kind", "shipped"), [("exchanges", "serial"), ("conditions", "plain")])
def test_faulty_file_of_the_user_is_listed_with_its_problem(
    client: TestClient, kind: str, shipped: str
) -> None:
    folder = data_folder() / kind
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text("title = 3")
    entries = {entry["name"]: entry for entry in client.get("/api/choices").json()[kind]}
    assert entries["mine"]["problem"] is True
    assert entries["mine"]["says"].startswith("cannot be used: ")
    assert "problem" not in entries[shipped]
