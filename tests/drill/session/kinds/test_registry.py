"""The registry of the kinds of session."""

from dataclasses import dataclass

import pytest

from drill.core.errors import UserError
from drill.session import kinds
from drill.session.kinds.base import SessionKind
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from tests.drill.session.example_kinds import EXAMPLE_KINDS, PLAN

STORED_NAMES = {
    "practice": "practice",
    "training": "training",
    "first-steps": "first-steps",
    "measurement": "measuring",
    "quick-check": "quick",
    "comparison": "comparing",
}
"""Stored names from records of version 0.2.0, which have to stay readable."""


@dataclass(frozen=True, kw_only=True)
class _Named(SessionKind):
    title = "Named"
    sentence = "A kind of session for tests of names."


def test_records_keep_the_stored_names() -> None:
    found = {kind.name: kind.stored_name for kind in kinds.registered_kinds()}
    assert found == STORED_NAMES


@pytest.mark.parametrize("name", ["measurement", "measuring"])
def test_a_kind_is_found_by_either_name(name: str) -> None:
    assert kinds.kind_named(name) is Measurement


def test_an_unknown_kind_is_refused_with_the_names_of_all() -> None:
    with pytest.raises(UserError, match=r"'hunting'.*choose one of practice, training") as refused:
        kinds.kind_named("hunting")
    assert (refused.value.field, refused.value.kind) == ("kind", "unknown")


def test_a_recorded_kind_of_a_newer_version_is_refused() -> None:
    with pytest.raises(UserError, match=r"'hunting'.*newer faintcall"):
        kinds.kind_from_record("hunting", PLAN.to_dict(), {})


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({}, "recorded measurement session is damaged"),
        ({"placement": 3, "until_db": None}, "not 3"),
        ({"placement": {}, "until_db": None}, "is missing"),
    ],
)
def test_damaged_data_of_a_recorded_session_is_an_error(
    data: dict[str, object], message: str
) -> None:
    with pytest.raises(UserError, match=message):
        kinds.kind_from_record("measuring", PLAN.to_dict(), data)


def test_kinds_are_listed_by_activity() -> None:
    names = {
        activity: [kind.name for kind in kinds.registered_kinds(activity)]
        for activity in ("practise", "measure", "compare")
    }
    assert names == {
        "practise": ["practice", "training", "first-steps"],
        "measure": ["measurement", "quick-check"],
        "compare": ["comparison"],
    }
    assert sum(map(len, names.values())) == len(EXAMPLE_KINDS)


@pytest.mark.parametrize(
    ("name", "stored_name"), [("measuring", "new"), ("new", "practice"), ("practice", "practice")]
)
def test_a_name_that_is_taken_is_refused(name: str, stored_name: str) -> None:
    kind = type("Taken", (_Named,), {"name": name, "stored_name": stored_name})
    with pytest.raises(ValueError, match="already registered"):
        kinds.register(kind)
    assert Practice in kinds.registered_kinds()


@pytest.mark.parametrize("name", ["", "New", "new kind", "n" * 31])
def test_a_name_that_imports_would_refuse_is_refused(name: str) -> None:
    kind = type("Misnamed", (_Named,), {"name": name, "stored_name": "new"})
    with pytest.raises(ValueError, match="not a valid name for a kind"):
        kinds.register(kind)
