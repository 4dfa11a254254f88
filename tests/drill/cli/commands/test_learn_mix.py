"""faintcall learn-mix: what it stores and prints, and what it refuses."""

import json
import re
from pathlib import Path

import pytest

from drill.callmix.contest_log import read_log
from drill.callmix.exchange_kinds import count_kinds
from drill.callmix.storage import find_learned_mix, learned_mix_names
from drill.cli import main
from drill.core.errors import UserError
from drill.items.plan import Plan
from phonetics.callsign_mixes import CALLSIGN_MIXES
from phonetics.callsigns import parse_callsign
from tests.drill.callmix.invented_logs import (
    adif_text,
    cabrillo_text,
    invented_calls,
    own_call,
)


def run_learn_mix(*words: object) -> int:
    return main(["learn-mix", *(str(word) for word in words)])


@pytest.fixture(scope="module")
def worked() -> list[str]:
    return invented_calls(900)


def test_no_call_of_the_log_is_stored(worked: list[str], home: Path, tmp_path: Path) -> None:
    log = tmp_path / "own.log"
    log.write_text(cabrillo_text(worked))
    assert run_learn_mix(log, "--name", "mine") == 0
    (path,) = (home / "data" / "mixes").iterdir()
    kept = path.read_text("utf-8") + json.dumps(
        Plan(seed=1, mix="mine", learned=find_learned_mix("mine")).to_dict()
    )
    runs = set(re.findall("[A-Za-z0-9/]+", kept))
    for call in (*worked, own_call()):
        assert not runs & {call, parse_callsign(call).base}
    assert str(log) not in kept


@pytest.mark.parametrize("name", ["", "Mine", "../mine", "a b", "world", "x" * 40])
def test_bad_names_are_refused(
    name: str, tmp_path: Path, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_learn_mix(tmp_path / "none.adi", "--name", name) == 2
    assert "cannot be the name" in capsys.readouterr().err
    if name not in CALLSIGN_MIXES:
        with pytest.raises(UserError, match="unknown"):
            find_learned_mix(name)


def test_too_few_stations_are_refused(
    tmp_path: Path, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "own.log"
    log.write_text(cabrillo_text(invented_calls(20) * 9))
    assert run_learn_mix(log, "--name", "mine") == 2
    assert "different stations" in capsys.readouterr().err
    assert learned_mix_names() == ()


@pytest.mark.parametrize(
    ("exchange", "kinds", "named"),
    [
        ("59 {n}", {"report", "serial"}, "serial"),
        ("59 KO85", {"report", "locator"}, "locator"),
        ("59 400", {"report", "power"}, "power"),
        ("59 BX", {"report", "area"}, "area"),
        ("SUSANNA BX", {"name", "area"}, "name-area"),
        ("59 44", {"report", "number"}, ""),
    ],
)
@pytest.mark.usefixtures("home")
def test_the_kinds_of_field_are_summarised(
    exchange: str,
    kinds: set[str],
    named: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    log = tmp_path / "own.log"
    log.write_text(cabrillo_text(invented_calls(80), exchange))
    run_learn_mix(log, "--name", "mine")
    output = capsys.readouterr().out
    assert set(count_kinds(read_log(log).contacts)) == kinds
    assert (f"Matching exchanges: {named}." in output) == bool(named)


def test_adif_gives_the_same_mix_as_cabrillo(worked: list[str], tmp_path: Path, home: Path) -> None:
    records = [
        {"CALL": call, "RST_RCVD": "59", "SRX": str(n), "SRX_STRING": f"{n:03d}", "CQZ": "14"}
        for n, call in enumerate(worked, 1)
    ]
    (tmp_path / "a.adi").write_text(adif_text(records))
    (tmp_path / "a.log").write_text(cabrillo_text(worked))
    run_learn_mix(tmp_path / "a.adi", "--name", "first")
    run_learn_mix(tmp_path / "a.log", "--name", "second")
    first, second = find_learned_mix("first"), find_learned_mix("second")
    assert first is not None
    assert second is not None
    assert first.shares == second.shares
    assert count_kinds(read_log(tmp_path / "a.adi").contacts) == {
        "report": 900,
        "serial": 900,
    }


def test_an_existing_mix_is_replaced_only_with_force(
    worked: list[str], tmp_path: Path, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "own.log"
    log.write_text(cabrillo_text(worked))
    assert run_learn_mix(log, "--name", "mine") == 0
    assert run_learn_mix(log, "--name", "mine") == 2
    assert "--force replaces it" in capsys.readouterr().err
    assert run_learn_mix(log, "--name", "mine", "--force") == 0
