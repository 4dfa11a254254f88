"""Reading a set back: it has to be finished, and this version has to compose the same items."""

import json
import shutil
from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.itemsets.read import read_item_set
from tests.drill.itemsets.test_write import CALLS, write_all


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a finished set."""
    folder = tmp_path_factory.mktemp("set")
    write_all(CALLS, folder)
    return folder


@pytest.fixture
def folder(written: Path, tmp_path: Path) -> Path:
    """Return a copy of the finished set."""
    return Path(shutil.copytree(written, tmp_path / "set"))


def test_a_finished_set_is_read(folder: Path) -> None:
    items = read_item_set(folder)
    assert items.plan == CALLS
    assert [entry["number"] for entry in items.entries] == [1, 2, 3, 4]


def test_an_incomplete_set_is_refused(folder: Path) -> None:
    lines = (folder / "manifest.jsonl").read_text().splitlines()
    (folder / "manifest.jsonl").write_text("\n".join(lines[:2]))
    with pytest.raises(UserError, match="has 2 of 4 items"):
        read_item_set(folder)


def test_a_set_with_other_items_is_refused(folder: Path) -> None:
    lines = (folder / "manifest.jsonl").read_text().splitlines()
    changed = json.dumps({**json.loads(lines[3]), "truth": "E81XX"})
    (folder / "manifest.jsonl").write_text("\n".join([*lines[:3], changed]))
    with pytest.raises(UserError, match="this version composes other items"):
        read_item_set(folder)


@pytest.mark.parametrize("file", ["plan.json", "manifest.jsonl"])
@pytest.mark.parametrize("text", [None, "", "[]", "{", "[" * 5000, '{"plan": 5}', "\ud800"])
def test_a_damaged_set_is_refused(file: str, text: str | None, folder: Path) -> None:
    if text is None:
        (folder / file).unlink()
    else:
        (folder / file).write_bytes(text.encode("utf-8", "surrogatepass"))
    with pytest.raises(UserError, match="set") as caught:
        read_item_set(folder)
    assert caught.value.field == "set"
