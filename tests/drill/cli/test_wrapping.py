import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.cli.wrapping import print_text, wrap_text

SENTENCE = "The calls are fictional, and the whole sentence is longer than a narrow terminal is."


class Terminal(io.StringIO):
    """A stream that claims to be a terminal."""

    def isatty(self) -> bool:
        return True


def test_lines_break_between_words_at_the_width_of_the_terminal(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    terminal = Terminal()
    print_text(f"\n  {SENTENCE}", stream=terminal)
    assert terminal.getvalue().splitlines() == [
        "",
        "  The calls are fictional, and the",
        "  whole sentence is longer than a",
        "  narrow terminal is.",
    ]


def test_text_that_is_no_terminals_stays_whole(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    print_text(SENTENCE)
    assert capsys.readouterr().out == f"{SENTENCE}\n"


def test_a_prompt_keeps_its_last_space(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "30")
    assert wrap_text("Enter: next. n: again in the noise. ", Terminal()).endswith("noise. ")


def test_a_key_stays_with_what_it_does(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "38")
    prompt = wrap_text("Enter: next. n: in noise. c: clean. s: stop. ", Terminal())
    assert prompt == "Enter: next. n: in noise. c: clean.\ns: stop. "


@given(st.lists(st.text("abc-/", min_size=1, max_size=15), min_size=1))
def test_no_word_is_broken_or_lost(words: list[str]) -> None:
    assert wrap_text(" ".join(words), Terminal()).split() == words
