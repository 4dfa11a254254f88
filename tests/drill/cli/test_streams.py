"""Closed streams, invalid bytes and full disks: one line, the right exit code, no traceback."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from drill.cli import main

pytestmark = pytest.mark.skipif(os.name != "posix", reason="uses a shell of POSIX")


def run_in_shell(words: str, home: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run `faintcall` with words and redirections in a shell."""
    return subprocess.run(
        f"{sys.executable} -m drill {words}",
        shell=True,
        capture_output=True,
        text=True,
        errors="replace",
        check=False,
        timeout=120,
        env={**os.environ, "FAINTCALL_HOME": str(home), **environment},
    )


COPY = "copy --items 1 --seed 1 --voices tin --audio-to {home}/sounds"
SAMPLE = "voices --say tin --audio-to {home}/sounds"
LISTEN = "listen --voices tin --seed 1 --audio-to {home}/sounds"


@pytest.mark.parametrize(
    "words",
    [COPY, *(pytest.param(words, marks=pytest.mark.slow) for words in (SAMPLE, LISTEN))],
)
@pytest.mark.parametrize("redirection", ["</dev/null", "<&-"])
def test_the_first_start_needs_input_for_the_caution(
    words: str, redirection: str, tmp_path: Path
) -> None:
    result = run_in_shell(f"{words.format(home=tmp_path)} {redirection}", tmp_path)
    assert result.returncode == 2
    assert result.stderr.splitlines()[-1].startswith("faintcall: the caution about your hearing")
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize(
    ("redirection", "status"),
    [
        (">&-", 0),
        pytest.param("2>&-", 0, marks=pytest.mark.slow),
        (">&- 2>&- <&-", 0),
        pytest.param("| head -c 1", 0, marks=pytest.mark.slow),
        pytest.param(
            "> /dev/full",
            1,
            marks=pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full"),
        ),
    ],
)
def test_a_closed_or_full_output_is_not_a_traceback(
    redirection: str, status: int, tmp_path: Path
) -> None:
    result = run_in_shell(f"choices {redirection}", tmp_path)
    assert result.returncode == status
    assert "Traceback" not in result.stderr
    assert "Exception ignored" not in result.stderr
    if status:
        assert result.stderr.count("\n") == 1
        assert "the disk is full" in result.stderr


def test_a_record_is_never_written_to_a_closed_standard_stream(tmp_path: Path) -> None:
    """The first file that is opened gets the closed stream's descriptor, and so its text."""
    result = run_in_shell("history >&- 2>&- <&-", tmp_path)
    assert result.returncode == 0
    record = tmp_path / "data" / "record.sqlite3"
    assert b"Nothing is recorded" not in record.read_bytes()


def test_a_charset_without_a_character_prints_a_question_mark(tmp_path: Path) -> None:
    exchanges = tmp_path / "data" / "exchanges"
    exchanges.mkdir(parents=True)
    result = run_in_shell(
        "copy --exchange caf\u00e9 </dev/null", tmp_path, PYTHONIOENCODING="ascii"
    )
    assert result.returncode == 2
    assert "caf?" in result.stderr
    assert "Traceback" not in result.stderr


def test_bytes_that_are_not_utf8_are_stored_as_valid_text(tmp_path: Path) -> None:
    """Also with the C locale, for which Python reads such bytes as unpaired surrogates."""
    lines = r"'\nE8\344BC\nn\ns\n\n'"
    words = COPY.format(home=tmp_path)
    printed = subprocess.run(
        f"printf {lines} | {sys.executable} -m drill {words}",
        shell=True,
        capture_output=True,
        check=False,
        timeout=120,
        env={**os.environ, "FAINTCALL_HOME": str(tmp_path), "LC_ALL": "C", "PYTHONUTF8": "1"},
    )
    assert printed.returncode == 0, printed.stderr
    export = run_in_shell(f"export {tmp_path}/attempts.jsonl", tmp_path)
    assert export.returncode == 0, export.stderr
    assert "\\ufffd" in (tmp_path / "attempts.jsonl").read_text("utf-8")
    again = run_in_shell(f"import {tmp_path}/attempts.jsonl", tmp_path)
    assert again.returncode == 0, again.stderr
    assert again.stdout.startswith("Added 0 attempts; already in your record: 1")


def test_a_user_without_a_home_folder_is_told_which_variable_to_set(tmp_path: Path) -> None:
    script = (
        "import sys, pathlib\n"
        "def no_home(*_, **__):\n"
        "    raise RuntimeError('Could not determine home directory.')\n"
        "import platformdirs\n"
        "platformdirs.user_data_path = no_home\n"
        "from drill.cli import main\n"
        "sys.exit(main(['history']))\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "FAINTCALL_HOME": ""},
    )
    assert result.returncode == 2
    assert result.stderr.startswith("faintcall: this user has no home folder; set")


@pytest.mark.parametrize(
    "words",
    [
        "history --last 99999999999999999999999",
        f"export {'a' * 300}.csv",
        f"import {'a' * 300}.csv",
        f"copy --conditions {'a' * 300}",
        f"copy --exchange {'a' * 300}",
        f"copy --voices {'a' * 300}",
        f"copy --mix {'a' * 300}",
        f"copy --audio-to /tmp/{'a' * 300}",
        f"render --items 1 --to /tmp/{'a' * 300}",
        f"report --to /tmp/{'a' * 300}",
        f"learn-mix --name club {'a' * 300}",
        f"help {'a' * 300}",
        f"record-words {'a' * 300}",
    ],
)
def test_a_value_that_is_too_long_is_refused_in_one_line(
    words: str, home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with Path(os.devnull).open(encoding="utf-8") as nothing:
        monkeypatch.setattr("sys.stdin", nothing)
        assert main(words.split()) == 2
    printed = capsys.readouterr().err
    assert "Traceback" not in printed
    assert printed.splitlines()[-1].startswith("faintcall")
