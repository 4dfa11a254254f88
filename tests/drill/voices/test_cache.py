"""The cache gives back what was made, whatever other processes do to the folder meanwhile."""

import multiprocessing
import os
import subprocess
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest

from drill import voices
from drill.core.models import Clip, Operator
from drill.voices.cache import SpeechCache, decode, encode, key
from drill.voices.people.roster import operator
from phonetics.message import Word
from tests.drill.voices.common import OVER, small_clip


def same(a: Clip, b: Clip) -> bool:
    return np.array_equal(a.samples, b.samples) and (a.rate_hz, a.words) == (b.rate_hz, b.words)


ROOT = Path(__file__).parents[3]
ROUNDS = 1500
LIMIT = 40_000  # bytes: nine clips, fewer than are asked for


def hammer(folder: str, seed: int) -> int:
    """Ask for clips at random; return how many had to be made. A wrong one fails the test."""
    cache, chance, made = SpeechCache(Path(folder), limit_bytes=LIMIT), Random(seed), 0
    wanted = [decode(encode(small_clip(number))) for number in range(20)]

    def make(number: int) -> Clip:
        nonlocal made
        made += 1
        return small_clip(number)

    for _ in range(ROUNDS):
        number = chance.randrange(20)
        assert same(cache.get(f"{number}", lambda: make(number)), wanted[number])  # noqa: B023
    return made


def clear_often(folder: str) -> int:
    """Clear the cache again and again; return how many files went."""
    cache = SpeechCache(Path(folder), limit_bytes=LIMIT)
    gone = 0
    for _ in range(100):
        gone += cache.clear()[0]
        time.sleep(0.002)
    return gone


class TestCache:
    def test_a_hit_equals_a_miss(self, tmp_path: Path) -> None:
        cache = SpeechCache(tmp_path / "new")
        first = cache.get("a", lambda: small_clip(1))
        second = cache.get("a", refuse)
        assert same(first, second)
        assert np.abs(first.samples - small_clip(1).samples).max() <= 0.51 / 32767

    def test_speak_goes_through_it(self, home: Path) -> None:
        spoken = voices.speak(OVER, operator("tin"), 3)
        (file,) = (home / "cache" / "speech").iterdir()
        assert same(decode(file.read_bytes()), spoken)
        assert same(voices.speak(OVER, operator("tin"), 3), spoken)

    @pytest.mark.parametrize("where", [0, 10, 120, -1])
    def test_a_damaged_entry_is_made_again(self, where: int, tmp_path: Path) -> None:
        cache = SpeechCache(tmp_path)
        good = cache.get("a", lambda: small_clip(1))
        (path,) = tmp_path.iterdir()
        content = bytearray(path.read_bytes())
        content[where] ^= 0x55
        for damaged in (bytes(content), bytes(content[:where]), b"", b"[]\n", b"\xff\xfe"):
            path.write_bytes(damaged)
            assert same(cache.get("a", lambda: small_clip(1)), good)
            assert same(cache.get("a", refuse), good)

    def test_it_stays_within_its_bound_and_drops_the_least_used(self, tmp_path: Path) -> None:
        size = len(encode(small_clip(0)))
        cache = SpeechCache(tmp_path, limit_bytes=10 * size)
        for number in range(30):
            cache.get(f"{number}", lambda number=number: small_clip(number))  # type: ignore[misc]
            cache.get("0", lambda: small_clip(0))
            assert sum(path.stat().st_size for path in tmp_path.iterdir()) <= 10.1 * size
        cache.get("0", refuse)
        cache.get("29", refuse)

    def test_damage_to_the_rate_is_seen(self, tmp_path: Path) -> None:
        cache = SpeechCache(tmp_path)
        good = cache.get("a", lambda: small_clip(1))
        (path,) = tmp_path.iterdir()
        path.write_bytes(path.read_bytes().replace(b"8000", b"9000", 1))
        assert same(cache.get("a", lambda: small_clip(1)), good)

    def test_it_is_cleared_of_its_own_files_only(self, tmp_path: Path) -> None:
        cache = SpeechCache(tmp_path, limit_bytes=10_000)
        assert cache.size() == cache.clear() == (0, 0)
        assert SpeechCache(tmp_path / "none").clear() == (0, 0)
        (tmp_path / "note.txt").write_text("mine" * 9999, "utf-8")
        for number in range(9):
            cache.get(f"{number}", lambda number=number: small_clip(number))  # type: ignore[misc]
        (tmp_path / "x.unfinished").write_bytes(b"1234")
        clips, size = cache.size()
        assert 0 < clips <= 3  # and the sweeps left the note alone
        assert cache.clear() == (clips + 1, size)
        assert [path.name for path in tmp_path.iterdir()] == ["note.txt"]
        assert same(cache.get("0", lambda: small_clip(0)), cache.get("0", refuse))

    def test_two_sweeps_at_once_do_not_delete_twice(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """What the other process has just deleted counts as deleted."""
        cache = SpeechCache(tmp_path)
        for number in range(20):
            cache.get(f"{number:02}", lambda number=number: small_clip(number))  # type: ignore[misc]
            os.utime(tmp_path / f"{number:02}.speech", (number, number))
        seen = list(cache._files())
        for number in range(5):
            (tmp_path / f"{number:02}.speech").unlink()
        monkeypatch.setattr(cache, "_files", lambda: iter(seen))
        cache.limit_bytes = sum(file.size for file in seen) * 17 // 20
        cache._sweep()  # down to 0.9 of 17
        assert sorted(int(path.stem) for path in tmp_path.iterdir()) == list(range(5, 20))

    def test_what_a_killed_process_left_is_swept(self, tmp_path: Path) -> None:
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

    def test_processes_share_it(self, tmp_path: Path) -> None:
        """Two write, read and sweep the same few names, a third clears: none gets a wrong clip."""
        with ProcessPoolExecutor(3, multiprocessing.get_context("spawn")) as pool:
            users = [pool.submit(hammer, str(tmp_path), seed) for seed in (1, 2)]
            cleared = pool.submit(clear_often, str(tmp_path))
            made = [user.result(timeout=120) for user in users]
            assert cleared.result(timeout=120) > 0
        assert all(0 < count < ROUNDS for count in made)  # there were misses and hits
        cache = SpeechCache(tmp_path, limit_bytes=LIMIT)
        assert not [path for path in tmp_path.iterdir() if path.suffix != ".speech"]
        assert cache.size()[1] <= 1.2 * LIMIT

    def test_an_unwritable_folder_is_no_error(self, tmp_path: Path) -> None:
        (tmp_path / "file").write_text("in the way", "utf-8")
        cache = SpeechCache(tmp_path / "file" / "speech")
        assert same(cache.get("a", lambda: small_clip(1)), cache.get("a", lambda: small_clip(1)))

    def test_the_key_holds_all_that_decides_the_sound(self) -> None:
        usual = operator("tin")

        def name(
            words: Sequence[Word] = OVER, each: Operator = usual, seed: int = 1,
            engine: str = "formant", version: str = "1",
        ) -> str:  # fmt: skip
            return key(words, each, seed, engine=engine, version=version)

        others = [
            name(words=OVER[1:]), name(seed=2), name(engine="x"), name(version="2"),
            name(words=(replace(OVER[0], pause=","), *OVER[1:])),
            name(each=replace(usual, voice="klatt4")), name(each=replace(usual, pitch_hz=99.0)),
            name(each=replace(usual, tract=0.9)), name(each=replace(usual, pace=0.9)),
            name(each=replace(usual, breath_db=1.0)), name(each=replace(usual, melody=0.9)),
            name(each=replace(usual, accent="british")),
        ]  # fmt: skip
        assert len({name(), *others}) == len(others) + 1
        assert name(each=replace(usual, name="other")) == name()
        assert name(words=[replace(word, means="", field="") for word in OVER]) == name()


def refuse() -> Clip:
    raise AssertionError("the clip should have been there")
