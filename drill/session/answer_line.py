"""The line that a trainee types: an answer, or a command letter.

The rule is the same in the terminal and on the page (drill/web/static/answer_line.js): a command
letter alone is never scored, and "=" before a text makes it an answer.
"""

COMMAND_LETTERS = ("n", "c", "s")
"""Letters that are commands after the answer: again in the noise, clean, stop."""
ANSWER_MARK = "="


def is_command_letter(line: str) -> bool:
    """Return whether a line is a command letter alone, in either case."""
    return line.strip().lower() in COMMAND_LETTERS


def answer_text(line: str) -> str:
    """Return the answer that a line contains, without the mark and without space around it."""
    return line.strip().removeprefix(ANSWER_MARK).strip()


def why_no_answer(line: str) -> str:
    """Return why a line before the answer is no answer, "" if it is one or empty."""
    text = line.strip().lower()
    if is_command_letter(text):
        return f"'{text}' works after the answer. To answer with the letter, type ={text}."
    is_mark_alone = bool(text) and not answer_text(text)
    return f"Type the answer after '{text}', such as {text}n." if is_mark_alone else ""
