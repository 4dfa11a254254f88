"""faintcall contact in a real terminal (tmux): typed keys, a kill, and continuing after it."""

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.core.paths import record_file
from drill.records.store import Store
from tests.drill.cli.commands.test_contact import CONTACT, right_line

TIMEOUT_S, POLL_S = 120.0, 0.1

pytestmark = pytest.mark.slow


class Terminal:
    """A window of a tmux server of its own: types lines and reads the screen."""

    def __init__(self, socket: Path, home: Path) -> None:
        self._socket = socket
        self._environment = {**os.environ, "FAINTCALL_HOME": str(home), "LANG": "C.UTF-8"}
        self.tmux("new-session", "-d", "-x", "100", "-y", "50", "sh")

    def tmux(self, *arguments: str) -> str:
        command = ["tmux", "-S", str(self._socket), *arguments]
        done = subprocess.run(
            command, capture_output=True, text=True, check=True, env=self._environment
        )
        return done.stdout

    def type(self, line: str) -> None:
        """Type a line and press Enter."""
        self.tmux("send-keys", "-l", line)
        self.tmux("send-keys", "Enter")

    def kill_program(self) -> None:
        """Kill the program that the shell runs."""
        shell = self.tmux("list-panes", "-F", "#{pane_pid}").strip()
        children = subprocess.run(
            ["pgrep", "-P", shell], capture_output=True, text=True, check=True
        ).stdout
        os.kill(int(children.split()[0]), signal.SIGKILL)

    def screen(self) -> str:
        """Return the lines that have been printed, those that scrolled away included."""
        return self.tmux("capture-pane", "-p", "-J", "-S", "-500")

    def expect(self, text: str, count: int = 1) -> None:
        """Wait until the screen shows a text `count` times."""
        for _ in range(round(TIMEOUT_S / POLL_S)):
            if self.screen().count(text) >= count:
                return
            time.sleep(POLL_S)
        raise AssertionError(f"no {text!r} in:\n{self.screen()}")


@pytest.fixture
def terminal(tmp_path: Path, home: Path) -> Iterator[Terminal]:
    if shutil.which("tmux") is None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("no tmux on this machine")
    window = Terminal(tmp_path / "tmux", home)
    with Store(record_file()) as store:
        store.set_seen("hearing", now=datetime.now(UTC))
    yield window
    window.tmux("kill-server")


def test_contact_is_killed_and_continued(terminal: Terminal, tmp_path: Path) -> None:
    program = f"{sys.executable} -m drill"
    sounds = f"--audio-to {tmp_path / 'sounds'}"
    terminal.type(f"{program} {' '.join(CONTACT)} --stations 1 {sounds}")
    terminal.expect("you have 100 W. Listen.")
    terminal.type("q")
    terminal.expect("Unknown key q. i shows where you are; =q notes it.")
    terminal.type("m")
    terminal.expect("You say: echo eight seven alfa bravo charlie")
    terminal.type(right_line())
    terminal.expect(f"Your log line: {right_line()}")
    terminal.kill_program()
    terminal.expect("Killed")
    terminal.type(f"{program} contact --continue {sounds}")
    terminal.expect("It continues at 0:")
    terminal.type("")
    terminal.type("x")
    terminal.expect("You say: thank you, five nine")
    terminal.type("")
    terminal.type("l")
    terminal.expect("Right in both logs.")
    terminal.type("d")
    terminal.expect("They made out: E87ABC")
    terminal.type("")
    terminal.expect("1 contact: 1 in both logs, 1 right in both.")
