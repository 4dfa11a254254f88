"""Checks return the value or raise a UserError with field, kind and one line."""

from collections.abc import Callable
from datetime import date, time
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.core.validation import (
    MAX_SHOWN,
    Check,
    checked_entries,
    checked_flag,
    checked_integer,
    checked_list,
    checked_number,
    checked_table,
    checked_text,
    dotted,
    integer_within,
    json_value,
    known_keys,
    one_of,
    shown,
    within,
)


def error_of(check: Callable[..., Any], *arguments: Any, **options: Any) -> tuple[str, str, str]:
    with pytest.raises(UserError) as caught:
        check(*arguments, **options)
    return str(caught.value), caught.value.field, caught.value.kind


@pytest.mark.parametrize("value", [0, 3, -2.5, 10**15])
def test_a_number_is_returned_as_float(value: float) -> None:
    assert checked_number("x", value) == value
    assert isinstance(checked_number("x", value), float)


@pytest.mark.parametrize("value", [True, "3", None, float("nan"), float("inf"), 10**400, [3]])
def test_other_values_are_not_numbers(value: Any) -> None:
    message, field, kind = error_of(checked_number, "x", value)
    assert message.startswith("x has to be a number, not ")
    assert (field, kind) == ("x", "wrong_type")


@pytest.mark.parametrize("value", [3.0, True, "3", 2**63, -(2**63), None])
def test_other_values_are_not_whole_numbers(value: Any) -> None:
    assert error_of(checked_integer, "x", value)[1:] == ("x", "wrong_type")


def test_whole_numbers_of_63_bits_are_returned() -> None:
    assert checked_integer("x", 2**63 - 1) == 2**63 - 1
    assert checked_integer("x", 1 - 2**63) == 1 - 2**63


@pytest.mark.parametrize("value", [0, 1, "true", None])
def test_only_true_and_false_are_flags(value: Any) -> None:
    assert checked_flag("x", True) is True
    assert error_of(checked_flag, "x", value)[0].startswith("x has to be true or false, not ")


def test_text_is_checked_for_type_length_and_unicode() -> None:
    assert checked_text("x", "né") == "né"
    assert checked_text("x", "abc", longest=3) == "abc"
    assert error_of(checked_text, "x", "abcd", longest=3) == (
        "x has 4 characters; give at most 3",
        "x",
        "too_long",
    )
    assert error_of(checked_text, "x", "a\ud800") == ("x is invalid Unicode", "x", "not_unicode")
    assert error_of(checked_text, "x", 5, label="name") == (
        "name has to be text, not 5",
        "x",
        "wrong_type",
    )


def test_a_range_includes_its_limits() -> None:
    assert within("x", 1, 1, 3) == 1.0
    assert within("x", 3, 1, 3) == 3.0
    assert integer_within("x", 3, 1, 3) == 3


@pytest.mark.parametrize("value", [0.99, 3.01, float("nan"), float("inf")])
def test_a_value_out_of_range_is_named_with_its_unit(value: float) -> None:
    message, field, kind = error_of(within, "snr_db", value, 1, 3, "dB", label="SNR")
    assert message == f"SNR {value:g} dB is out of range; allowed are 1 to 3 dB"
    assert (field, kind) == ("snr_db", "out_of_range")


def test_a_value_of_another_type_is_reported_with_the_range() -> None:
    assert error_of(within, "x", "2", 1, 3, "dB") == (
        "x has to be a number from 1 to 3 dB, not '2'",
        "x",
        "wrong_type",
    )
    assert error_of(integer_within, "x", 2.5, 1, 3)[2] == "wrong_type"


def test_large_whole_numbers_are_named_in_full() -> None:
    message, _, _ = error_of(integer_within, "seed", 2**63, 0, 2**63 - 1)
    assert message == (
        "seed 9223372036854775808 is out of range; allowed are 0 to 9223372036854775807"
    )


@pytest.mark.parametrize("value", ["c", "", None, 1, ["a"]])
def test_a_choice_is_one_of_those_allowed(value: Any) -> None:
    assert one_of("x", "a", {"a": 1, "b": 2}) == "a"
    message, field, kind = error_of(one_of, "x", value, ("a", "b"), label="letter")
    assert message == f"letter {shown(value)} is unknown; choose one of a, b"
    assert (field, kind) == ("x", "unknown")


def test_a_list_is_checked_entry_by_entry() -> None:
    assert checked_list("x", ["a", "b"]) == ("a", "b")
    assert checked_list("x", [1], checked_integer, most=1) == (1,)
    assert error_of(checked_list, "x", ["a", 5])[:2] == ("x[1] has to be text, not 5", "x[1]")
    assert error_of(checked_list, "x", "ab")[2] == "wrong_type"
    assert error_of(checked_list, "x", ["a", "b"], most=1) == (
        "x has 2 entries; give at most 1",
        "x",
        "too_long",
    )


def test_a_form_is_checked_by_its_entries() -> None:
    checks: dict[str, Check] = {"count": checked_integer, "name": checked_text}
    assert checked_entries({"count": 3, "name": None}, checks) == {"count": 3}
    assert error_of(checked_entries, {"size": 3}, checks) == (
        "unknown entry 'size'; allowed are count, name",
        "size",
        "unknown",
    )
    assert error_of(checked_entries, {"count": None}, checks, required=["count"]) == (
        "count is missing",
        "count",
        "missing",
    )
    assert error_of(checked_entries, {"count": "3"}, checks, where="form")[1] == "form.count"
    assert error_of(checked_entries, [3], checks)[0] == "the data has to be a table, not [3]"


def test_keys_of_any_kind_are_named() -> None:
    assert error_of(known_keys, {5: 1}, ["a"], "x")[:2] == (
        "unknown entry 'x.5'; allowed are a",
        "x.5",
    )
    assert error_of(checked_table, "x", 3)[0] == "x has to be a table, not 3"


def test_names_are_dotted() -> None:
    assert dotted("noise", "vd_db") == "noise.vd_db"
    assert dotted("", "vd_db") == "vd_db"
    assert dotted("noise", "") == "noise"
    assert dotted("noise", "a\nb") == r"noise.'a\nb'"
    assert len(dotted("", "a" * 1000)) == MAX_SHOWN


@pytest.mark.parametrize(
    "source",
    [
        pytest.param("", id="empty"),
        pytest.param("{", id="cut off"),
        pytest.param("NaN", id="NaN"),
        pytest.param("[Infinity]", id="Infinity"),
        pytest.param("1e400", id="number beyond float"),
        pytest.param("1" * 21, id="whole number of 21 digits"),
        pytest.param("[" * 100_000, id="nested too deeply"),
        pytest.param('"\\ud800"', id="unpaired surrogate"),
        pytest.param('"\ud800"', id="surrogate without escape"),
        pytest.param(b'"\xed\xa0\x80"', id="surrogate as bytes"),
        pytest.param('"\\ud800"'.encode("utf-16-le"), id="surrogate in UTF-16"),
        pytest.param(b"\xff\xfe\x00", id="not UTF-8"),
    ],
)
def test_other_text_is_refused_in_one_line(source: str | bytes) -> None:
    message, _, kind = error_of(json_value, source)
    assert "\n" not in message
    assert kind in ("wrong_type", "not_unicode")


json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**60), 2**60) | st.text() | st.floats(-1e9, 1e9),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=10,
)


@given(value=json_values)
def test_json_is_read_as_the_standard_library_reads_it(value: Any) -> None:
    """Python's json module represents RFC 8259 here."""
    import json

    assert json_value(json.dumps(value)) == value
    assert json_value(json.dumps(value, ensure_ascii=False).encode()) == value


@given(value=json_values)
def test_a_shown_value_is_short_and_on_one_line(value: Any) -> None:
    assert len(shown(value)) <= MAX_SHOWN
    assert "\n" not in shown(value)


def test_values_are_shown_as_json_and_toml_write_them() -> None:
    assert [shown(value) for value in (True, None, "a", 1.5)] == ["true", "null", "'a'", "1.5"]


@pytest.mark.parametrize(
    ("value", "text"),
    [(date(2026, 1, 2), "2026-01-02"), (time(12, 30), "12:30:00"), (True, "true"), (None, "null")],
)
def test_a_value_is_shown_as_it_is_written_in_a_file(value: Any, text: str) -> None:
    assert shown(value) == text
