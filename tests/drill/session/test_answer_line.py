"""Which typed lines are answers, and which are command letters."""

import re
from pathlib import Path

import pytest

from drill import web
from drill.session.answer_line import (
    COMMAND_LETTERS,
    answer_problem,
    answer_text,
    is_command_letter,
)


@pytest.mark.parametrize("line", ["n", "N", " c ", "s", "S"])
def test_a_command_letter_alone_is_no_answer(line: str) -> None:
    assert is_command_letter(line)
    letter = line.strip().lower()
    assert answer_problem(line) == (
        f"'{letter}' works only after your answer. To answer with the letter, type ={letter}."
    )


@pytest.mark.parametrize(
    ("line", "text"),
    [("=n", "n"), ("= S ", "S"), ("=e8abc 59", "e8abc 59"), ("e8abc", "e8abc"), ("a", "a")],
)
def test_an_equals_sign_makes_any_text_an_answer(line: str, text: str) -> None:
    assert not is_command_letter(line)
    assert answer_text(line) == text
    assert answer_problem(line) == ""


def test_an_equals_sign_alone_is_explained() -> None:
    assert answer_text("=") == ""
    assert answer_problem("=") == "Type your answer after '=', for example =n."
    assert answer_problem("") == ""


def test_the_page_has_the_same_command_letters() -> None:
    script = Path(web.__file__).parent / "static" / "answer_line.js"
    letters = re.search(r"COMMAND_LETTERS = (\[.*\]);", script.read_text("utf-8"))
    assert letters is not None
    assert tuple(re.findall(r'"(.)"', letters[1])) == COMMAND_LETTERS
