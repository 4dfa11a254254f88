"""Sets in the user's data folder: listed, added from a zip or from two files, deleted, zipped."""

import io
import json
import shutil
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.itemsets.read import read_item_set
from drill.itemsets.storage import (
    add_set,
    delete_stored_set,
    find_stored_set,
    set_folder,
    stored_sets,
    zip_chunks,
)
from tests.drill.itemsets.test_write import CALLS, write_all


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a finished set."""
    folder = tmp_path_factory.mktemp("sets") / "club evening"
    write_all(CALLS, folder)
    return folder


@pytest.fixture
def stored(written: Path, home: Path) -> Path:
    """Return the folder of a finished set in the user's data folder."""
    return Path(shutil.copytree(written, set_folder("club evening")))


def zipped(files: dict[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return buffer.getvalue()


def files_of(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in ("plan.json", "manifest.jsonl")}


def test_a_finished_set_is_listed(stored: Path) -> None:
    (found,) = stored_sets()
    assert (found.name, found.folder, found.plan) == ("club evening", stored, CALLS)
    assert found.complete
    assert found.has_sound
    assert not found.problem
    assert find_stored_set("other") is None


def test_an_interrupted_and_a_damaged_set_say_so(stored: Path) -> None:
    lines = (stored / "manifest.jsonl").read_bytes().splitlines(keepends=True)
    (stored / "manifest.jsonl").write_bytes(lines[0] + lines[1][:-9])
    (found,) = stored_sets()
    assert (found.finished, found.complete) == (1, False)
    (stored / "plan.json").write_text("{")
    (found,) = stored_sets()
    assert found.plan is None
    assert "cannot be used" in found.problem


def test_a_zip_of_a_set_is_added_elsewhere(stored: Path) -> None:
    found = find_stored_set("club evening")
    assert found is not None
    data = b"".join(zip_chunks(found))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        names = {Path(name).name for name in archive.namelist()}
    assert names == {path.name for path in stored.iterdir()}
    delete_stored_set(found)
    added = add_set("from Anna", data, zipped=True)
    assert (added.complete, added.has_sound) == (True, False)
    assert read_item_set(set_folder("from Anna")).plan == CALLS


def test_a_plan_and_a_manifest_are_added(written: Path, home: Path) -> None:
    files = files_of(written)
    plan = json.dumps(json.loads(files["plan.json"])).encode()
    add_set("two files", plan + b"\n" + files["manifest.jsonl"], zipped=False)
    assert read_item_set(set_folder("two files")).plan == CALLS


@pytest.mark.parametrize("name", ["", "../x", "a/b", ".", "x" * 41, "con\n"])
def test_a_name_that_is_not_possible_is_refused(name: str, home: Path) -> None:
    with pytest.raises(UserError, match="not possible for a set"):
        add_set(name, b"", zipped=True)


def test_a_name_in_use_is_refused(stored: Path, written: Path) -> None:
    with pytest.raises(UserError, match="already a set"):
        add_set("club evening", zipped(files_of(written)), zipped=True)
    assert read_item_set(stored).plan == CALLS


def test_a_file_that_is_not_a_set_is_refused_and_leaves_nothing(written: Path, home: Path) -> None:
    files = files_of(written)
    plan, manifest = files["plan.json"], files["manifest.jsonl"]
    for data, is_zip in (
        (b"", True),
        (b"PK\x03\x04", True),
        (zipped({}), True),
        (zipped({"plan.json": plan}), True),
        (zipped({"a/plan.json": plan, "b/plan.json": plan, "manifest.jsonl": manifest}), True),
        (zipped({"plan.json": b"{}", "manifest.jsonl": manifest}), True),
        (zipped({"plan.json": plan, "manifest.jsonl": manifest[:-20]}), True),
        (b"", False),
        (b"{}\n", False),
        (plan, False),
    ):
        with pytest.raises(UserError):
            add_set("bad", data, zipped=is_zip)
        assert stored_sets() == ()
        assert not set_folder("bad").exists()


@settings(max_examples=60, suppress_health_check=list(HealthCheck), deadline=None)
@given(place=st.floats(0, 1, exclude_max=True), value=st.integers(0, 255))
def test_a_damaged_zip_is_refused_or_read(
    written: Path, tmp_path_factory: pytest.TempPathFactory, place: float, value: int
) -> None:
    data = bytearray(zipped(files_of(written)))
    data[int(place * len(data))] = value
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAINTCALL_HOME", str(tmp_path_factory.mktemp("home")))
        try:
            added = add_set("damaged", bytes(data), zipped=True)
        except UserError:
            assert stored_sets() == ()
        else:
            assert added.complete


def test_a_file_in_a_zip_is_read_only_up_to_its_limit(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A zip file of a few kilobytes can hold gigabytes."""
    monkeypatch.setattr("drill.itemsets.storage.MAX_ADDED_BYTES", 1000)
    with pytest.raises(UserError, match="too large"):
        add_set("bomb", zipped({"plan.json": bytes(2000), "manifest.jsonl": b""}), zipped=True)
