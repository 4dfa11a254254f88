"""Dataclasses from plain data and back, strict about names and types."""

import json
import pickle
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Annotated, Any, ClassVar, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.core.structuring import from_data, max_items, max_length, to_data
from drill.core.validation import within


@dataclass(frozen=True, kw_only=True)
class Part:
    level_db: float = 0.0
    label: Annotated[str, max_length(3)] = ""

    def __post_init__(self) -> None:
        within("level_db", self.level_db, -10, 10, "dB", label="level")


@dataclass(frozen=True, kw_only=True)
class Whole:
    STORED_NAMES: ClassVar[Mapping[str, str]] = {"size": "count"}

    size: int
    on: bool = True
    part: Part = field(default_factory=Part)
    spare: Part | None = None
    parts: tuple[Part, ...] = ()
    names: Annotated[tuple[str, ...], max_items(2)] = ()
    colour: Literal["red", "green"] = "red"
    number_or_name: int | str = 0
    weights: dict[str, float] = field(default_factory=dict)
    anything: Any = None


parts = st.builds(Part, level_db=st.floats(-10, 10), label=st.text(max_size=3))
wholes = st.builds(
    Whole,
    size=st.integers(0, 100),
    on=st.booleans(),
    part=parts,
    spare=st.none() | parts,
    parts=st.lists(parts, max_size=3).map(tuple),
    names=st.lists(st.text(), max_size=2).map(tuple),
    colour=st.sampled_from(["red", "green"]),
    number_or_name=st.integers(0, 9) | st.text(),
    weights=st.dictionaries(st.text(), st.floats(0, 1)),
    anything=st.none() | st.lists(st.integers()),
)


@given(whole=wholes)
def test_an_object_survives_json(whole: Whole) -> None:
    assert from_data(Whole, json.loads(json.dumps(to_data(whole)))) == whole


def test_stored_names_are_written_and_both_names_are_read() -> None:
    assert to_data(Whole(size=3))["count"] == 3
    assert "size" not in to_data(Whole(size=3))
    assert from_data(Whole, {"count": 3}) == from_data(Whole, {"size": 3}) == Whole(size=3)


def test_without_stored_names_the_data_is_that_of_asdict() -> None:
    assert to_data(Part(level_db=2.0, label="a")) == asdict(Part(level_db=2.0, label="a"))


def test_a_whole_number_is_read_as_float() -> None:
    level_db = from_data(Part, {"level_db": 3}).level_db
    assert (level_db, type(level_db)) == (3.0, float)


@pytest.mark.parametrize(
    ("change", "message", "field_name", "kind"),
    [
        ({"size": "3"}, "size has to be a whole number, not '3'", "size", "wrong_type"),
        ({"size": True}, "size has to be a whole number, not true", "size", "wrong_type"),
        ({"on": 1}, "on has to be true or false, not 1", "on", "wrong_type"),
        ({"siz": 3}, "unknown entry 'siz'; allowed are size", "siz", "unknown"),
        ({"part": 3}, "part has to be a table, not 3", "part", "wrong_type"),
        ({"part": {"level": 3}}, "unknown entry 'part.level'", "part.level", "unknown"),
        (
            {"part": {"level_db": 11}},
            "level 11 dB is out of range; allowed are -10 to 10 dB",
            "part.level_db",
            "out_of_range",
        ),
        (
            {"part": {"label": "abcd"}},
            "part.label has 4 characters; give at most 3",
            "part.label",
            "too_long",
        ),
        ({"spare": 3}, "spare has to be a table or null, not 3", "spare", "wrong_type"),
        (
            {"spare": {"level_db": "x"}},
            "spare.level_db has to be a number, not 'x'",
            "spare.level_db",
            "wrong_type",
        ),
        ({"parts": {}}, "parts has to be a list, not {}", "parts", "wrong_type"),
        (
            {"parts": [{}, {"level_db": None}]},
            "parts[1].level_db has to be a number, not null",
            "parts[1].level_db",
            "wrong_type",
        ),
        ({"names": ["a", "b", "c"]}, "names has 3 entries; give at most 2", "names", "too_long"),
        (
            {"colour": "blue"},
            "colour 'blue' is unknown; choose one of red, green",
            "colour",
            "unknown",
        ),
        (
            {"number_or_name": 1.5},
            "number_or_name has to be a whole number or text, not 1.5",
            "number_or_name",
            "wrong_type",
        ),
        (
            {"weights": {"a": "heavy"}},
            "weights.a has to be a number, not 'heavy'",
            "weights.a",
            "wrong_type",
        ),
    ],
)
def test_a_wrong_entry_is_named(
    change: dict[str, Any], message: str, field_name: str, kind: str
) -> None:
    with pytest.raises(UserError) as caught:
        from_data(Whole, {"size": 1, **change})
    assert str(caught.value).startswith(message)
    assert (caught.value.field, caught.value.kind) == (field_name, kind)


def test_a_missing_entry_is_named() -> None:
    with pytest.raises(UserError, match=r"item\.size is missing") as caught:
        from_data(Whole, {}, "item")
    assert (caught.value.field, caught.value.kind) == ("item.size", "missing")


def test_an_error_survives_the_way_from_another_process() -> None:
    with pytest.raises(UserError) as caught:
        from_data(Whole, {})
    error = pickle.loads(pickle.dumps(caught.value))
    assert (str(error), error.field, error.kind) == ("size is missing", "size", "missing")


def test_an_annotation_that_cannot_be_checked_is_a_programming_error() -> None:
    @dataclass
    class Odd:
        value: set[int]

    with pytest.raises(TypeError, match="cannot check"):
        from_data(Odd, {"value": [1]})


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=5,
)


@given(name=st.sampled_from(list(Whole.__dataclass_fields__)), junk=JUNK)
def test_anything_is_accepted_or_refused_in_one_line(name: str, junk: Any) -> None:
    try:
        from_data(Whole, {"size": 1, name: junk})
    except UserError as error:
        assert "\n" not in str(error)
        assert error.field.startswith(name)


@dataclass(frozen=True)
class Shared:
    """A class with simple fields only."""

    number: float
    flag: bool | None = None
    names: tuple[str, ...] = ()


def test_equal_data_gives_the_same_object_of_a_simple_frozen_class() -> None:
    data = {"number": 1.0, "names": ["a"]}
    assert from_data(Shared, data) is from_data(Shared, dict(data))
    assert from_data(Shared, {"number": 2.0}) == Shared(number=2.0)


@pytest.mark.parametrize("entry", [{"number": True}, {"number": 1, "flag": 1}, {"number": "1.0"}])
def test_values_that_compare_equal_in_python_are_distinguished(entry: dict[str, Any]) -> None:
    from_data(Shared, {"number": 1, "flag": True})
    from_data(Shared, {"number": 1.0})
    with pytest.raises(UserError, match="has to be"):
        from_data(Shared, entry)
