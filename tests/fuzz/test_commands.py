"""Any command line ends with an exit code and one line, never with a traceback.

Bounded for CI: a few hundred command lines with a fixed seed. Commands run in this process;
commands that would need a sound card, a browser or minutes get values that make them stop earlier.
"""

import io
import string
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, seed, settings
from hypothesis import strategies as st

from drill.cli import COMMANDS, main

pytestmark = pytest.mark.slow
BOUNDED = settings(max_examples=250, suppress_health_check=list(HealthCheck), database=None)
NOT_RUN = ("page", "selfcheck")
"""Commands that run until they are stopped, or for minutes."""

words = st.text(string.printable.strip() + "\u00e9\u0394\udce4", max_size=12).filter(
    lambda word: "\0" not in word
)
values = (
    words
    | st.integers().map(str)
    | st.floats().map(str)
    | st.sampled_from(
        [
            *("", "-1", "0", "1e400", "nan", "inf", "-", "--", "~", ".", "/", "/dev/null"),
            *("9" * 30, "x" * 300, "\u0661", "\udce4", "a,b", "bank-x", "system-x", "studio-x"),
            *("plain", "serial", "world", "tin", "call", "over", "clean", "1/1", "1800+200"),
        ]
    )
)
OPTIONS = (
    *("--items", "--seed", "--snr", "--watts", "--path-snr", "--fading", "--filter", "--static"),
    *("--off-frequency", "--processing", "--conditions", "--exchange", "--mix", "--voices"),
    *("--pace", "--part", "--alternates", "--kind", "--continue", "--audio-to", "--last"),
    *("--format", "--since", "--mode", "--force", "--schema", "--to", "--workers", "--without"),
    *("--picture", "--prompt", "--take", "--call", "--list", "--keep-takes", "--until"),
)
arguments = st.lists(st.sampled_from(OPTIONS) | values, max_size=5)
commands = st.sampled_from([name for name in COMMANDS if name not in NOT_RUN]) | words


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Give the commands a home folder, no input, and a working folder of their own."""
    folder = tmp_path_factory.mktemp("fuzz")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAINTCALL_HOME", str(folder / "home"))
        patch.chdir(folder)
        # Without engines no command plays a sound or starts a long rendering.
        patch.setattr("drill.voices.find_engine", _no_engine)
        yield folder


def _no_engine(name: str) -> None:
    from drill.core.errors import NoVoice

    raise NoVoice(f"the engine {name} is missing; install it")


def check(line: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "stdin", io.StringIO(""))
        try:
            status = main(line)
        except SystemExit as stop:  # argparse: --help, or a usage error
            status = stop.code if isinstance(stop.code, int) else 2
    output, error = capsys.readouterr()
    assert status in (0, 1, 2, 130), line
    assert "Traceback" not in error
    if status in (1, 2) and (error or not output):  # `faintcall voices` prints its report
        assert error.splitlines()[-1].startswith("faintcall"), (line, error)


@BOUNDED
@seed(15)
@given(command=commands, rest=arguments)
@example(command="history", rest=["--last", "9" * 30])
@example(command="history", rest=["--items", "-" + "9" * 30])
@example(command="export", rest=["x" * 300 + ".csv"])
@example(command="export", rest=["a.csv", "--since", "0001-01-01"])
@example(command="import", rest=["."])
@example(command="import", rest=["\udce4.csv"])
@example(command="learn-mix", rest=["."])
@example(command="learn-mix", rest=["/dev/null"])
@example(command="render", rest=["--to", "/dev/null"])
@example(command="render", rest=["--to", "\udce4", "--items", "1"])
@example(command="report", rest=["--to", "/dev/null/x"])
@example(command="listen", rest=["--seed", "9" * 30, "--audio-to", "s"])
@example(command="record-words", rest=["\udce4"])
@example(command="speak", rest=["--take", "x" * 300, "--seed", "1", "--call", "E87ABC"])
@example(command="speak", rest=["--call", "\udce4"])
@example(command="budget", rest=["--watts", "1e400"])
@example(command="copy", rest=["--exchange", "../../x"])
@example(command="copy", rest=["--mix", "x" * 300])
@example(command="help", rest=["../copy"])
@example(command="help", rest=["\udce4"])
def test_any_command_line_ends_with_an_exit_code(
    command: str, rest: list[str], folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    check([command, *rest], capsys)
