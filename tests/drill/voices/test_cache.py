"""The cache returns what was synthesised, whatever other processes do to its folder."""

import multiprocessing
import os
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import fields, replace
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest

from drill import voices
from drill.core.models import Clip, Operator
from drill.voices import cache as cache_module
from drill.voices.cache import SpeechCache, cache_key, decode_clip, encode_clip
from drill.voices.engines.formant import engine as formant
from drill.voices.engines.natural import engine as natural
from drill.voices.engines.studio import engine as studio
from drill.voices.operators import find_operator
from drill.voices.people.styles import VocalStyle, vocal_styles
from tests.drill.voices.common import OVER, small_clip

ROOT = Path(__file__).parents[3]
ROUNDS = 1500
LIMIT = 40_000  # in bytes: enough for nine clips, fewer than are requested


def same(a: Clip, b: Clip) -> bool:
    return np.array_equal(a.samples, b.samples) and (a.rate_hz, a.words) == (b.rate_hz, b.words)


def refuse() -> Clip:
    raise AssertionError("the clip should have been in the cache")


def request_at_random(folder: str, seed: int) -> int:
    """Request clips at random; return how many were synthesised. A wrong clip fails the test."""
    cache, rng, count = SpeechCache(Path(folder), limit_bytes=LIMIT), Random(seed), 0
    expected = [decode_clip(encode_clip(small_clip(number))) for number in range(20)]

    def synthesise(number: int) -> Clip:
        nonlocal count
        count += 1
        return small_clip(number)

    for _ in range(ROUNDS):
        number = rng.randrange(20)
        clip = cache.get(f"{number}", lambda: synthesise(number))  # noqa: B023
        assert same(clip, expected[number])
    return count


def clear_repeatedly(folder: str) -> int:
    """Clear the cache again and again; return how many files were deleted."""
    cache = SpeechCache(Path(folder), limit_bytes=LIMIT)
    deleted = 0
    for _ in range(100):
        deleted += cache.clear()[0]
        time.sleep(0.002)
    return deleted


class TestSpeechCache:
    def test_a_hit_equals_a_miss(self, tmp_path: Path) -> None:
        cache = SpeechCache(tmp_path / "new")
        first = cache.get("a", lambda: small_clip(1))
        second = cache.get("a", refuse)
        assert same(first, second)
        assert np.abs(first.samples - small_clip(1).samples).max() <= 0.51 / 32767

    def test_speak_uses_it(self, home: Path) -> None:
        clip = voices.speak(OVER, find_operator("tin"), 3)
        (file,) = (home / "cache" / "speech").iterdir()
        assert same(decode_clip(file.read_bytes()), clip)
        assert same(voices.speak(OVER, find_operator("tin"), 3), clip)

    @pytest.mark.parametrize("position", [0, 10, 120, -1])
    def test_a_damaged_file_is_replaced(self, position: int, tmp_path: Path) -> None:
        cache = SpeechCache(tmp_path)
        good = cache.get("a", lambda: small_clip(1))
        (path,) = tmp_path.iterdir()
        content = bytearray(path.read_bytes())
        content[position] ^= 0x55
        for damaged in (bytes(content), bytes(content[:position]), b"", b"[]\n", b"\xff\xfe"):
            path.write_bytes(damaged)
            assert same(cache.get("a", lambda: small_clip(1)), good)
            assert same(cache.get("a", refuse), good)

    def test_a_damaged_sample_rate_is_noticed(self, tmp_path: Path) -> None:
        cache = SpeechCache(tmp_path)
        good = cache.get("a", lambda: small_clip(1))
        (path,) = tmp_path.iterdir()
        path.write_bytes(path.read_bytes().replace(b"8000", b"9000", 1))
        assert same(cache.get("a", lambda: small_clip(1)), good)

    def test_it_keeps_its_limit_and_deletes_the_least_recently_used(self, tmp_path: Path) -> None:
        size = len(encode_clip(small_clip(0)))
        cache = SpeechCache(tmp_path, limit_bytes=10 * size)
        for number in range(30):
            cache.get(f"{number}", lambda number=number: small_clip(number))  # type: ignore[misc]
            cache.get("0", lambda: small_clip(0))
            assert sum(path.stat().st_size for path in tmp_path.iterdir()) <= 10.1 * size
        cache.get("0", refuse)
        cache.get("29", refuse)

    def test_clearing_deletes_only_its_own_files(self, tmp_path: Path) -> None:
        cache = SpeechCache(tmp_path, limit_bytes=10_000)
        assert cache.size() == cache.clear() == (0, 0)
        assert SpeechCache(tmp_path / "none").clear() == (0, 0)
        (tmp_path / "note.txt").write_text("mine" * 9999, "utf-8")
        for number in range(9):
            cache.get(f"{number}", lambda number=number: small_clip(number))  # type: ignore[misc]
        (tmp_path / "x.unfinished").write_bytes(b"1234")
        clips, size = cache.size()
        assert 0 < clips <= 3  # the sweeps did not count the note
        assert cache.clear() == (clips + 1, size)
        assert [path.name for path in tmp_path.iterdir()] == ["note.txt"]
        assert same(cache.get("0", lambda: small_clip(0)), cache.get("0", refuse))

    def test_two_sweeps_at_once_do_not_delete_too_much(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A file that the other process has just deleted counts as deleted."""
        cache = SpeechCache(tmp_path)
        for number in range(20):
            cache.get(f"{number:02}", lambda number=number: small_clip(number))  # type: ignore[misc]
            os.utime(tmp_path / f"{number:02}.speech", (number, number))
        listed = list(cache._files())
        for number in range(5):
            (tmp_path / f"{number:02}.speech").unlink()
        monkeypatch.setattr(cache, "_files", lambda: iter(listed))
        cache.limit_bytes = sum(file.size for file in listed) * 17 // 20
        cache._sweep()  # a sweep deletes down to 0.9 of the limit of 17 files
        assert sorted(int(path.stem) for path in tmp_path.iterdir()) == list(range(5, 20))

    def test_a_killed_process_leaves_nothing_for_long(self, tmp_path: Path) -> None:
        code = (
            "import os, sys\n"
            "from pathlib import Path\n"
            "from drill.voices.cache import SpeechCache\n"
            "from tests.drill.voices.common import small_clip\n"
            "Path.replace = lambda *_: os._exit(9)\n"
            "SpeechCache(Path(sys.argv[1])).get('a', lambda: small_clip(1))\n"
        )
        for _ in range(2):
            subprocess.run([sys.executable, "-c", code, tmp_path], cwd=ROOT, check=False)
        old, new = tmp_path.iterdir()
        assert {old.suffix, new.suffix} == {".unfinished"}
        os.utime(old, (0, 0))
        SpeechCache(tmp_path).get("b", lambda: small_clip(2))
        assert sorted(path.name for path in tmp_path.iterdir()) == sorted(["b.speech", new.name])

    @pytest.mark.slow
    def test_processes_share_it(self, tmp_path: Path) -> None:
        """Two processes read, write and sweep the same few keys while a third one clears."""
        with ProcessPoolExecutor(3, multiprocessing.get_context("spawn")) as pool:
            users = [pool.submit(request_at_random, str(tmp_path), seed) for seed in (1, 2)]
            cleared = pool.submit(clear_repeatedly, str(tmp_path))
            counts = [user.result(timeout=120) for user in users]
            assert cleared.result(timeout=120) > 0
        assert all(0 < count < ROUNDS for count in counts)  # there were both misses and hits
        cache = SpeechCache(tmp_path, limit_bytes=LIMIT)
        assert not [path for path in tmp_path.iterdir() if path.suffix != ".speech"]
        assert cache.size()[1] <= 1.2 * LIMIT

    def test_a_folder_that_cannot_be_written_is_not_an_error(self, tmp_path: Path) -> None:
        (tmp_path / "file").write_text("in the way", "utf-8")
        cache = SpeechCache(tmp_path / "file" / "speech")
        assert same(cache.get("a", lambda: small_clip(1)), cache.get("a", lambda: small_clip(1)))


def key(operator: Operator, **changes: Any) -> str:
    arguments = {"words": OVER, "seed": 1, "engine_version": "1", **changes}
    return cache_key(operator=operator, **arguments)


class TestCacheKey:
    def test_it_depends_on_everything_that_decides_the_samples(self) -> None:
        tin = find_operator("tin")
        keys = [
            key(tin),
            key(tin, words=OVER[1:]),
            key(tin, words=(replace(OVER[0], pause=","), *OVER[1:])),
            key(tin, seed=2),
            key(tin, engine_version="2"),
            key(replace(tin, engine="x")),
            key(replace(tin, voice="klatt4")),
            key(replace(tin, pitch_hz=99.0)),
            key(replace(tin, formant_scale=0.9)),
            key(replace(tin, pace=0.9)),
            key(replace(tin, breath_db=1.0)),
            key(replace(tin, melody=0.9)),
            key(replace(tin, accent="british")),
            key(replace(tin, vocal_style="tired")),
        ]
        assert len(set(keys)) == len(keys)

    def test_it_does_not_depend_on_names_and_meanings(self) -> None:
        tin = find_operator("tin")
        assert key(replace(tin, name="other", hard=True)) == key(tin)
        assert key(tin, words=[replace(word, means="", field="") for word in OVER]) == key(tin)

    def test_it_depends_on_the_version_of_the_effects(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        before = key(find_operator("tin"))
        monkeypatch.setattr(cache_module, "EFFECTS_VERSION", cache_module.EFFECTS_VERSION + 1)
        assert key(find_operator("tin")) != before

    @pytest.mark.parametrize("field", fields(VocalStyle), ids=lambda field: field.name)
    def test_it_depends_on_each_value_of_the_style_but_not_on_its_text(
        self, field: Any, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        operator = replace(find_operator("tin"), vocal_style="tired")
        before = key(operator)
        style = vocal_styles()["tired"]
        text = field.name in ("description", "source")
        value = "other" if text else getattr(style, field.name) + 0.01
        monkeypatch.setitem(vocal_styles(), "tired", replace(style, **{field.name: value}))  # type: ignore[arg-type]
        assert (key(operator) == before) == text


@pytest.mark.parametrize("module", [natural, formant, studio], ids=lambda m: m.__package__)
class TestEngineVersion:
    def test_it_depends_on_the_sound_version(
        self, module: Any, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        engine = voices.find_engine(module.__package__.split(".")[-1])
        before = engine.version
        monkeypatch.setattr(type(engine), "sound_version", engine.sound_version + 1)
        assert engine.version != before

    def test_it_depends_on_every_value_of_every_table_but_not_on_comments(
        self, module: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        engine = voices.find_engine(module.__package__.split(".")[-1])
        before, tables = engine.version, module._TABLES
        assert tables
        for number, table in enumerate(tables):
            text = table.read_text("utf-8")
            for name, added, same_version in (
                ("comment", "# A comment.\n", True),
                ("value", "new = 1\n", False),
            ):
                copy = tmp_path / f"{number}-{name}.toml"
                copy.write_text(added + text, "utf-8")
                changed = [*tables[:number], copy, *tables[number + 1 :]]
                monkeypatch.setattr(module, "_TABLES", changed)
                assert (engine.version == before) == same_version, table

    def test_its_tables_are_all_the_data_of_its_package(self, module: Any) -> None:
        """The version contains a separate digest of the studio voices' vectors."""
        folder = Path(module.__file__).parent
        listed = set(module._TABLES)
        assert set(folder.glob("*.toml")) <= listed
