"""Budget, report, past answers and listening as the pages get them, without a browser."""

import math
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drill.cli import main
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.linkbudget.describe import NO_CIRCUIT
from drill.radio.presets import preset
from drill.records.store import Store
from drill.report.figures import report
from drill.web.api.budget import FIELDS, PLACES, FieldError, budget_json
from drill.web.api.history import answers_json
from drill.web.api.listen import listen
from drill.web.api.report import report_json
from tests.web.sample_record import fill

TEMPLATE = Path(__file__).parents[3] / "drill/web/templates/budget.html"


def figures(text: str) -> list[str]:
    return re.findall(r"[+-]\d+\.\d|\d+\.\d", text)


def test_the_budget_is_that_of_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    """Both directions and the ladder, figure by figure."""
    words = ["--watts", "5", "--path-s", "7", "--there", "rural", "--wire-length", "2"]
    assert main(["budget", *words, "--line-length", "20", "--line-loss", "3"]) == 0
    lines = capsys.readouterr().out.splitlines()
    told = [figures(line) for line in lines if re.match(r"my sig|their sig| *[+-]\d.* dB ", line)]
    values = {"watts": 5, "path_s": "7", "there": "rural", "wire_length": 2}
    answer = budget_json({**values, "line_length": 20, "line_loss": 3})
    rows = [figures(" ".join(row)) for table in answer["tables"] for row in table["rows"]]
    assert len(rows) == 5
    assert rows == told
    assert answer["sentences"][-1] == NO_CIRCUIT


@pytest.mark.parametrize(
    ("values", "field", "told"),
    [
        ({"watts": 3000}, "watts", "3000 W is out of range; give 0.001 to 2000"),
        ({"watts": "5"}, "watts", "out of range"),
        ({"watts": True}, "watts", "out of range"),
        ({"far_watts": math.nan}, "far_watts", "out of range"),
        ({"frequency": 50}, "frequency", "0.3 to 30 MHz"),
        ({"path_s": "ten"}, "path_s", "no S reading"),
        ({"wire_length": 9}, "wire_length", "out of range at 14.2 MHz"),
        ({"wire_length": 2, "short": 1}, "short", "not both"),
        ({"line_length": 2}, "line_loss", "together"),
        ({"line_length": 2, "line_loss": 1, "line": 0}, "line", "not both"),
        ({"here": "moon"}, "here", "choose one of city"),
    ],
)
def test_a_mistake_names_its_field(values: dict[str, Any], field: str, told: str) -> None:
    with pytest.raises(FieldError, match=re.escape(told)) as caught:
        budget_json(values)
    assert caught.value.field == field


def test_a_field_that_is_not_there_is_refused() -> None:
    with pytest.raises(UserError, match="no field 'power'"):
        budget_json({"power": 5})


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.dictionaries(
        st.sampled_from([*FIELDS, *PLACES, "path_s"]),
        st.none() | st.floats() | st.text(max_size=5) | st.sampled_from(["city", "9+10"]),
    )
)
def test_any_values_give_tables_or_a_sentence(values: dict[str, Any]) -> None:
    try:
        answer = budget_json(values)
    except UserError as error:
        assert len(str(error).splitlines()) == 1
        return
    assert [len(table["rows"]) for table in answer["tables"]] in ([2, 3], [2, 4])


def test_the_form_has_the_fields_and_their_ranges() -> None:
    text = TEMPLATE.read_text("utf-8")
    inputs = re.findall(r'<input type="number"[^>]*>', text)
    found = {re.search(r'name="(\w+)"', one)[1]: one for one in inputs}  # type: ignore[index]
    assert found.keys() == FIELDS.keys()
    for name, field in FIELDS.items():
        assert f'min="{field.low:g}"' in found[name]
        assert f'max="{field.high:g}"' in found[name]
        if field.default is not None:
            assert f'value="{field.default:g}"' in found[name]
    for place, usual in PLACES.items():
        chosen = text[text.index(f'<select id="{place}"') :]
        assert re.search(r'value="([\w-]+)" selected', chosen)[1] == usual  # type: ignore[index]


@pytest.mark.usefixtures("home")
def test_an_empty_record_is_said_to_be_empty() -> None:
    with Store(record_file()) as store:
        told = report_json(report(store, now=datetime.now(UTC)))
    assert not told["enough"]
    assert told["sections"] == []
    assert "Nothing is recorded yet" in told["sentence"]


@pytest.mark.usefixtures("home")
def test_report_and_answers_of_a_record() -> None:
    names = fill()
    with Store(record_file()) as store:
        told = report_json(report(store, now=datetime.now(UTC)))
        sitting = store.attempts(names["practice"])
    assert told["enough"]
    assert told["sentence"].startswith("92 answers in 6 sittings")
    for section in told["sections"]:
        assert section["sentences"]
        assert section["tables"] or not section["charts"]
        for chart in section["charts"]:
            assert section["sentences"][0][:40] in chart["says"]
        for table in section["tables"]:
            assert {len(row) for row in table["rows"]} == {len(table["head"])}
    answers = answers_json(sitting)
    assert [answer["number"] for answer in answers] == list(range(1, 9))
    wrong = next(answer for answer in answers if not answer["right"])
    bad = next(field for field in wrong["fields"] if not field["right"])
    assert "".join(pair["sent"] for pair in bad["pairs"]) == bad["sent"]


@pytest.mark.usefixtures("home")
def test_an_over_as_asked_and_without_a_stage() -> None:
    kept: list[Clip] = []

    def keep(clip: Clip) -> str:
        kept.append(clip)
        return f"/{len(kept)}"

    plan = Plan(
        seed=3, conditions=preset("aurora").conditions, mix="unassigned", voices=("tin", "wren")
    )
    told = listen(plan, ["fading", "neighbours"], keep)
    assert [one["name"] for one in told["sounds"]] == [
        "as asked",
        "without fading",
        "without neighbours",
    ]
    assert [one["url"] for one in told["sounds"]] == ["/1", "/2", "/3"]
    # Aurora has no neighbours: taking them away changes nothing, and the page says so.
    assert [one["same"] for one in told["sounds"]] == [False, False, True]
    assert kept[0].samples.tobytes() == kept[2].samples.tobytes() != kept[1].samples.tobytes()
    assert "no fading" in told["pictures"][1]["says"]
    assert "neighbours" not in told["stages"]
    (table,) = told["tables"]
    assert {len(row) for row in table["rows"]} == {len(table["head"])}
