"""The line that a trainee types: an answer or a command letter.

The rule is the same in the terminal and on the page (drill/web/static/answer_line.js): a command
letter alone is never scored, and "=" before a text makes it an answer.
"""

COMMAND_LETTERS = ("n", "c", "s")
"""Commands that can follow an answer: n plays the item again with noise, c without, s stops."""
ANSWER_MARK = "="


def is_command_letter(line: str) -> bool:
    """Return whether a line is a command letter alone, in either case."""
    return line.strip().lower() in COMMAND_LETTERS


def answer_text(line: str) -> str:
    """Return the answer in a line, without ANSWER_MARK and surrounding spaces."""
    return line.strip().removeprefix(ANSWER_MARK).strip()


def answer_problem(line: str) -> str:
    """Return why a line cannot be an answer; "" if it can, or if it is empty."""
    text = line.strip().lower()
    if is_command_letter(text):
        return f"'{text}' works only after your answer. To answer with the letter, type ={text}."
    is_mark_alone = bool(text) and not answer_text(text)
    return f"Type your answer after '{text}', for example {text}n." if is_mark_alone else ""
