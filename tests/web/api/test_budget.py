"""/api/budget: the same link budget as in the terminal, and a form with the same fields."""

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill.cli import main
from drill.linkbudget.describe import BUDGET_CAUTION
from drill.linkbudget.form import FORM_NUMBERS, NOISE_PLACES
from tests.web.client import logged_in_client


@pytest.fixture
def client(home: Path) -> TestClient:
    return logged_in_client()


def test_the_page_gets_the_tables_and_sentences_of_the_terminal(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--watts", "5", "--path-s", "7", "--there", "rural", "--wire-length", "2"]
    assert main(["budget", *options, "--line-length", "20", "--line-loss", "3"]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    values = {"watts": 5, "path_s": "7", "there": "rural", "wire_length": 2}
    response = client.post("/api/budget", json={**values, "line_length": 20, "line_loss": 3})
    budget = response.json()
    rows = [row for table in budget["tables"] for row in table["rows"]]
    assert len(rows) == 5
    for text in (*budget["sentences"], *(" ".join(row) for row in rows)):
        assert text in printed
    assert budget["sentences"][-1] == BUDGET_CAUTION


@pytest.mark.parametrize(
    ("values", "field", "message"),
    [
        ({"watts": 3000}, "watts", "my power 3000 W is out of range; allowed are 0.001 to 2000 W"),
        ({"watts": "5"}, "watts", "has to be a number"),
        ({"path_s": "ten"}, "path_s", "'ten' is not an S reading"),
        ({"wire_length": 9}, "wire_length", "out of range at 14.2 MHz"),
        ({"line_length": 2}, "line_loss", "together"),
        ({"here": "moon"}, "here", "choose one of city"),
        ({"power": 5}, "power", "unknown entry 'power'"),
    ],
)
def test_a_mistake_is_answered_with_its_field(
    client: TestClient, values: dict[str, object], field: str, message: str
) -> None:
    response = client.post("/api/budget", json=values)
    assert response.status_code == 400
    assert response.json()["field"] == field
    assert message in response.json()["error"]


def test_the_form_of_the_page_has_the_same_fields_ranges_and_defaults(client: TestClient) -> None:
    html = client.get("/budget").text
    inputs = {
        match[1]: match[0]
        for match in re.finditer(r'<input type="number"[^>]*?name="(\w+)"[^>]*>', html)
    }
    assert inputs.keys() == FORM_NUMBERS.keys()
    for name, number in FORM_NUMBERS.items():
        assert f'min="{number.low:g}"' in inputs[name]
        assert f'max="{number.high:g}"' in inputs[name]
        if number.default is not None:
            assert f'value="{number.default:g}"' in inputs[name]
    for place, default in NOISE_PLACES.items():
        select = html[html.index(f'<select id="{place}"') :]
        selected = re.search(r'value="([\w-]+)" selected', select)
        assert selected is not None
        assert selected[1] == default
