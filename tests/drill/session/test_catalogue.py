"""The catalogue: every name in it can be used, and a user's faulty file hides no other entry."""

from pathlib import Path
from typing import Any

import pytest

from drill.core.paths import data_folder, record_file
from drill.records.store import Store
from drill.session.catalogue import session_catalogue
from drill.session.changes import CHANGES
from drill.session.kinds import kind_named, registered_kinds
from drill.session.options import ComparedOption, SessionOptions

FAST: dict[str, Any] = {"mix": "unassigned", "voices": ("rivet",)}


def test_kinds_are_listed_with_their_options_and_counts(home: Path) -> None:
    catalogue = session_catalogue()
    assert [kind["name"] for kind in catalogue["kinds"]] == [k.name for k in registered_kinds()]
    for entry in catalogue["kinds"]:
        kind = kind_named(entry["name"])
        assert set(entry["options"]) == kind.options
        assert catalogue["counts"][kind.name] == kind.default_count
        assert entry["title"]
        assert entry["says"].endswith(".")


@pytest.mark.parametrize(
    ("key", "option"),
    [
        ("parts", "part"),
        ("exchanges", "exchange"),
        ("mixes", "mix"),
        ("conditions", "conditions"),
        ("fading", "fading"),
        ("receivers", "filter"),
        ("processing", "processing"),
    ],
)
def test_every_name_can_be_used_as_an_option(key: str, option: str, home: Path) -> None:
    practice = kind_named("practice")
    with Store(record_file()) as store:
        for entry in session_catalogue()[key]:
            options = SessionOptions(**{**FAST, option: entry["name"]})
            practice.create(options, store)
            assert entry["says"]


def test_every_listed_value_can_be_compared(home: Path) -> None:
    comparison = kind_named("comparison")
    changes = session_catalogue()["compare"]
    assert [change["name"] for change in changes] == list(CHANGES)
    with Store(record_file()) as store:
        for change in changes:
            values = tuple(entry["name"] for entry in change["values"][:2])
            compare = ComparedOption(option=change["name"], values=values)
            comparison.create(SessionOptions(**FAST, count=1, compare=compare), store)


def test_the_default_form_begins_a_session(home: Path) -> None:
    form = session_catalogue()["defaults"]
    kind = kind_named(form.pop("kind"))
    del form["path_snr_db"]  # the SNR of the path is allowed only together with a power
    with Store(record_file()) as store:
        plan = kind.create(SessionOptions(**{**form, **FAST}), store).plan
    assert (plan.count, plan.part, plan.conditions.snr_db) == (kind.default_count, "call", 0.0)


@pytest.mark.parametrize(("key", "other"), [("exchanges", "serial"), ("conditions", "plain")])
def test_a_users_file_with_an_error_is_listed_as_a_problem(
    key: str, other: str, home: Path
) -> None:
    folder = data_folder() / key
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text("title = 3")
    entries = {entry["name"]: entry for entry in session_catalogue()[key]}
    assert entries["mine"]["problem"] is True
    assert entries["mine"]["says"].startswith("cannot be used: ")
    assert "problem" not in entries[other]


def test_a_users_file_in_place_of_a_shipped_one_is_marked(home: Path) -> None:
    for key in ("exchanges", "conditions"):
        (data_folder() / key).mkdir(parents=True)
    texts = {
        "conditions/aurora": 'says = "Mine."',
        "conditions/garden": 'says = "Another."',
        "exchanges/age": 'title = "Mine"\nsentence = "Mine."\n[[field]]\nkind = "age"\n',
    }
    for name, text in texts.items():
        (data_folder() / f"{name}.toml").write_text(text)
    catalogue = session_catalogue()
    conditions = {entry["name"]: entry["says"] for entry in catalogue["conditions"]}
    exchanges = {entry["name"]: entry["says"] for entry in catalogue["exchanges"]}
    mark = "(your own file, in place of the shipped one)"
    assert conditions["aurora"] == f"Mine. {mark}"
    assert conditions["garden"] == "Another."
    assert exchanges["age"].endswith(mark)
    assert not exchanges["serial"].endswith(mark)
