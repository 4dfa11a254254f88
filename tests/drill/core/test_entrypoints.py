"""Plug-ins by entry point: found, missing, and broken."""

from importlib.metadata import EntryPoint, EntryPoints

import pytest

from drill.core import entrypoints
from drill.core.entrypoints import entry_point_names, load_entry_point
from drill.core.errors import NoVoice


@pytest.fixture
def group(monkeypatch: pytest.MonkeyPatch) -> str:
    """Return the name of a group with two entry points, one of which cannot be imported."""
    entries = [
        EntryPoint("second", "collections:OrderedDict", "test.group"),
        EntryPoint("broken", "no_such_module:Thing", "test.group"),
    ]

    def chosen(group: str) -> EntryPoints:
        return EntryPoints(entries).select(group=group)

    monkeypatch.setattr(entrypoints, "group_entries", chosen)
    return "test.group"


def load(group: str, name: str) -> object:
    return load_entry_point(group, name, label="voice engine", if_none="none", error=NoVoice)


def test_an_object_of_the_named_class_is_returned(group: str) -> None:
    assert entry_point_names(group) == ("broken", "second")
    assert load(group, "second") == {}


def test_an_unknown_name_is_answered_with_the_known_ones(group: str) -> None:
    with pytest.raises(NoVoice, match="no voice engine 'third'; choose one of: broken, second"):
        load(group, "third")
    with pytest.raises(NoVoice, match="choose one of: none"):
        load("empty.group", "third")


def test_a_failed_import_is_reported_in_one_line(group: str) -> None:
    with pytest.raises(
        NoVoice, match="the voice engine 'broken' cannot start: No module"
    ) as caught:
        load(group, "broken")
    assert "\n" not in str(caught.value)
