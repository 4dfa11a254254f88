"""Errors carry what program logic needs."""

import pickle

from drill.core.errors import (
    AlreadyAnswered,
    FaintcallError,
    UserError,
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


def test_a_message_of_several_lines_becomes_one() -> None:
    assert single_line(ValueError("a\n  b\r\n\tc")) == "a b c"
