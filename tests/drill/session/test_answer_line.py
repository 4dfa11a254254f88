"""Which typed lines are answers, and which are keys."""

import re
from pathlib import Path

import pytest

from drill import web
from drill.session.answer_line import (
    KEYS_AFTER_ANSWER,
    answer_problem,
    answer_text,
    is_key,
    spoken_characters,
    spoken_question,
)


@pytest.mark.parametrize("line", ["n", "N", " c ", "d", "q"])
def test_one_letter_alone_is_a_key(line: str) -> None:
    assert is_key(line)
    letter = line.strip().lower()
    works_later = letter in KEYS_AFTER_ANSWER
    reason = "works only after your answer" if works_later else "Unknown key"
    assert reason in answer_problem(line)
    assert answer_problem(line).endswith(f"To answer with the letter, type ={letter}.")


@pytest.mark.parametrize(
    ("line", "text"),
    [("=n", "n"), ("= S ", "S"), ("=e8abc 59", "e8abc 59"), ("e8abc", "e8abc"), ("7", "7"),
     ("?8", "?8"), ("=?", "?")],
)  # fmt: skip
def test_anything_else_is_an_answer(line: str, text: str) -> None:
    assert not is_key(line)
    assert answer_text(line) == text
    assert answer_problem(line) == ""


def test_a_question_mark_alone_is_not_an_answer() -> None:
    assert "for a missed character inside your answer" in answer_problem(" ? ")


def test_an_equals_sign_alone_is_explained() -> None:
    assert answer_text("=") == ""
    assert answer_problem("=") == "Type your answer after '=', for example =n."
    assert answer_problem("") == ""


def test_the_page_has_the_same_keys() -> None:
    script = Path(web.__file__).parent / "static" / "answer_line.js"
    letters = re.search(r"KEYS_AFTER_ANSWER = (\[.*\]);", script.read_text("utf-8"))
    assert letters is not None
    assert tuple(re.findall(r'"(.)"', letters[1])) == KEYS_AFTER_ANSWER


@pytest.mark.parametrize(
    ("line", "characters"),
    [
        ("echo eight x ray", "E8X"),
        ("Echo 8 X-ray", "E8X"),
        ("alpha niner stroke papa", "A9/P"),
        ("E87ABC", ""),
        ("e87abc 59 fifty seven", ""),
        ("fifty seven", ""),  # a number may be typed in words
        ("mike", ""),
        ("e 8 a b c", ""),
        ("golf ???", ""),
    ],
)
def test_an_answer_in_code_words_is_recognised(line: str, characters: str) -> None:
    assert spoken_characters(line) == characters


def test_the_question_shows_the_characters() -> None:
    assert spoken_question("E8X").startswith("Type characters, not words: E8X?")
