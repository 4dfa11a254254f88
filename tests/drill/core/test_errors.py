"""Errors carry what program logic needs, and install commands name this Python."""

import pickle
import subprocess
import sys

from drill.core.errors import (
    AlreadyAnswered,
    FaintcallError,
    UserError,
    pip_install_command,
    single_line,
)


def test_an_error_carries_field_and_kind() -> None:
    error = UserError("SNR 99 dB is out of range", field="snr_db", kind="out_of_range")
    assert (str(error), error.field, error.kind) == (
        "SNR 99 dB is out of range",
        "snr_db",
        "out_of_range",
    )
    assert isinstance(error, FaintcallError)
    copy = pickle.loads(pickle.dumps(AlreadyAnswered("taken", field="number")))
    assert (type(copy), copy.field, copy.kind) == (AlreadyAnswered, "number", "")


def test_the_install_command_uses_this_python() -> None:
    command = pip_install_command("pyarrow", "G722")
    assert command == f"{sys.executable} -m pip install pyarrow G722"
    executable = command.split(" -m ")[0]
    assert subprocess.run([executable, "-c", ""], check=False).returncode == 0


def test_a_message_of_several_lines_becomes_one() -> None:
    assert single_line(ValueError("a\n  b\r\n\tc")) == "a b c"
