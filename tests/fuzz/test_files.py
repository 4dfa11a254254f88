"""Files supplied by the user, with any content: exchange, conditions, learned mix, export, log."""

import io
import string
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, seed, settings
from hypothesis import strategies as st

from drill.cli import main

pytestmark = pytest.mark.slow
BOUNDED = settings(max_examples=120, suppress_health_check=list(HealthCheck), database=None)
keys = st.sampled_from(
    [
        *("says", "fields", "kind", "label", "name", "noise", "fading", "receiver", "snr_db"),
        *("neighbours", "transmitter", "width_hz", "vd_db", "delay_ms", "spread_hz", "values"),
    ]
)
scalars = st.sampled_from(
    ['""', '"x"', "1", "-1", "1e308", "inf", "nan", "true", "[]", "{}", "[1]", '["a"]', "[{}]"]
)
lines = st.one_of(
    st.builds("{} = {}".format, keys, scalars),
    st.builds("[{}]".format, keys),
    st.builds("[[{}]]".format, keys),
    st.text(string.printable, max_size=20),
)
toml = st.lists(lines, max_size=6).map("\n".join)
contents = toml.map(str.encode) | st.binary(max_size=80)


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    home = tmp_path_factory.mktemp("files")
    for name in ("exchanges", "conditions", "mixes"):
        (home / "data" / name).mkdir(parents=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAINTCALL_HOME", str(home))
        yield home


def check(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "stdin", io.StringIO(""))
        status = main(words)
    error = capsys.readouterr().err
    assert status in (0, 1, 2), words
    if status:
        assert error.splitlines()[-1].startswith("faintcall: "), (words, error)
        assert "<class" not in error


@BOUNDED
@seed(16)
@given(content=contents)
@example(content=b"\xef\xbb\xbfsays = 1")
@example(content=b"\xff\xfe")
@example(content=b"a = " + b"[" * 2000)
def test_any_user_file_is_read_or_refused_in_one_line(
    content: bytes, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (home / "data" / "exchanges" / "mine.toml").write_bytes(content)
    (home / "data" / "conditions" / "mine.toml").write_bytes(content)
    (home / "data" / "mixes" / "mine.toml").write_bytes(content)
    (home / "mine.log").write_bytes(content)
    (home / "mine.adi").write_bytes(content)
    (home / "mine.csv").write_bytes(content)
    (home / "mine.jsonl").write_bytes(content)
    sounds = str(home / "sounds")
    check(["choices"], capsys)
    check(["copy", "--exchange", "mine", "--part", "over", "--audio-to", sounds], capsys)
    check(["copy", "--conditions", "mine", "--audio-to", sounds], capsys)
    check(["copy", "--mix", "mine", "--audio-to", sounds], capsys)
    for name in ("mine.log", "mine.adi"):
        check(["learn-mix", str(home / name), "--name", "learned", "--force"], capsys)
    for name in ("mine.csv", "mine.jsonl"):
        check(["import", str(home / name)], capsys)
    check(["speak", "--take", str(home / "mine.log"), "--seed", "1", "--call", "E87ABC"], capsys)
