"""Contest logs: any text is read or refused in one line without revealing a call."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drill.callmix.contest_log import read_log
from drill.callmix.exchange_kinds import count_kinds
from drill.callmix.learn import calls_in_text
from drill.core.errors import UserError
from tests.drill.callmix.invented_logs import HEAD


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        ("a.adi", "", "neither"),
        ("a.adi", "hello", "neither"),
        ("a.adi", "head <call:5>E8ABC <eor>", "header"),
        ("a.adi", "<call:5>E8ABC <band:3>40m <eor> <call:5>E8ABD <band:3>40m", "record 2.*cut off"),
        ("a.adi", "<call:5>E8ABC <eor>\n<call:5>E8ABD <CALL:5>E8ABD <eor>", "record 2.*Duplic"),
        ("a.adi", "<call:5>E8ABC <CALL:5>E8ABD <eor>", "record 1.*Duplic"),
        ("a.adi", "<band:3>40m <eor>", "record 1: the field CALL is missing"),
        ("a.log", HEAD, "contains no contacts"),
        ("a.log", HEAD + "QSO: 14250 PH", "line 2"),
        ("a.log", HEAD + "QSO: 1 PH 2026-13-01 0000 E8ABC 59 1 E8ABD 59 1", "line 2.*date"),
        ("a.log", HEAD + "QSO: 1 PH 2026-12-01 0000 E8ABC 59 1 E8ABD 59 1 7", "line 2.*uneven"),
    ],
)
def test_a_bad_log_gives_a_one_line_error(
    name: str, text: str, message: str, tmp_path: Path
) -> None:
    path = tmp_path / name
    path.write_text(text)
    with pytest.raises(UserError, match=message) as caught:
        read_log(path)
    assert "\n" not in str(caught.value)
    assert "E8AB" not in str(caught.value)


def test_a_missing_log_gives_an_error(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="cannot be read"):
        read_log(tmp_path / "none.adi")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(start=st.sampled_from([HEAD + "QSO: ", "<eor>", "x<eoh>", HEAD]), text=st.text(max_size=200))
def test_any_text_is_read_or_refused(start: str, text: str, tmp_path: Path) -> None:
    path = tmp_path / "any.log"
    for whole in (start + text, text + start):
        path.write_text(whole, encoding="utf-8")
        try:
            log = read_log(path)
        except UserError:
            continue
        count_kinds(log.contacts)
        calls_in_text(log.text)
