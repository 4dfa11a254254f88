"""The line that a trainee types: an answer or a key.

The rule is the same in the terminal and on the page (drill/web/static/answer_line.js): a single
letter is a key and is never scored, and "=" before a text makes it an answer.
"""

from phonetics.alphabets import characters_from_words

ANSWER_MARK = "="
NOT_MADE_OUT = "?"
"""Typed inside an answer for a character that was not made out."""
NOISE, CLEAN, DETAILS, WHERE, STOP, GIVE_UP = "n", "c", "d", "i", "s", "."
KEYS_AFTER_ANSWER = (CLEAN, DETAILS)


def is_key(line: str) -> bool:
    """Return whether a line is a single letter."""
    text = line.strip()
    return len(text) == 1 and text.isascii() and text.isalpha()


def answer_text(line: str) -> str:
    """Return the answer in a line, without ANSWER_MARK and surrounding spaces."""
    return line.strip().removeprefix(ANSWER_MARK).strip()


def answer_problem(line: str) -> str:
    """Return why a line cannot be an answer; "" if it can, or if it is empty."""
    text = line.strip().lower()
    if is_key(text):
        reason = (
            f"'{text}' works only after your answer"
            if text in KEYS_AFTER_ANSWER
            else f"Unknown key '{text}'; {WHERE} shows where you are"
        )
        return f"{reason}. To answer with the letter, type ={text}."
    if text == NOT_MADE_OUT:
        return (
            f"Use '{text}' for a missed character inside your answer. '{GIVE_UP}' gives up; "
            f"{WHERE} shows where you are."
        )
    is_mark_alone = bool(text) and not answer_text(text)
    return f"Type your answer after '{text}', for example {text}n." if is_mark_alone else ""


def spoken_characters(line: str) -> str:
    """Return the characters of an answer typed in code words, such as "E8X" for "echo eight x ray".

    "" if the answer is not in code words: a single word, only numbers, or any other word in it.
    """
    words = answer_text(line).lower().replace("x ray", "x-ray").split()
    try:
        characters = [characters_from_words([word]) for word in words]
    except ValueError:
        return ""
    letters = any(
        len(word) > 2 and letter.isalpha() for word, letter in zip(words, characters, strict=True)
    )
    return "".join(characters) if letters and len(words) > 1 else ""


def spoken_question(characters: str) -> str:
    """Return the question about an answer in code words."""
    return f"Type characters, not words: {characters}? Enter again takes the words as they stand."
