"""Keys in the terminal."""

import io
import os
import sys

import pytest

from drill.cli.keyboard import EnterKey, read_key


def test_an_unknown_key_is_named_and_the_question_repeated(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("x\n C \n"))
    assert read_key("Key? ", ("", "n", "c", "s")) == "c"
    assert "Unknown key 'x'. Press Enter, n, c or s." in capsys.readouterr().out


def test_enter_alone_is_a_key_if_it_is_allowed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n"))
    assert read_key("Key? ", ("", "s")) == ""


def test_the_end_of_input_ends_the_question(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("x\n"))
    with pytest.raises(EOFError):
        read_key("Key? ", ("n", "s"))


def test_enter_is_never_pressed_without_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n"))
    enter = EnterKey()
    enter.discard()
    assert not enter.was_pressed()


@pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX terminal")
def test_enter_at_a_terminal_is_noticed_and_the_next_line_is_left(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ours, theirs = os.openpty()
    with os.fdopen(theirs, encoding="utf-8") as stdin, os.fdopen(ours, "wb", buffering=0) as typed:
        monkeypatch.setattr("sys.stdin", stdin)
        enter = EnterKey()
        assert not enter.was_pressed()
        typed.write(b"\n\n")
        enter.discard()
        assert not enter.was_pressed()
        typed.write(b"\nnext\n")
        assert enter.was_pressed()
        assert stdin.readline() == "next\n"
        assert not enter.was_pressed()
