"""Sentences about the labels that cost the trainee most, the same in the terminal and on the
page."""

from drill.session.costliest import CHARACTER, STYLE, CostlyLabel
from phonetics.alphabets import ITU_CODE_WORDS
from phonetics.numerals import DIGIT_WORDS


def costly_name(costly: CostlyLabel) -> str:
    """Return the label as a phrase: "Q (quebec)", "the word norway", "letters, other word"."""
    if costly.kind == CHARACTER:
        return f"{costly.label} ({usual_word(costly.label)})"
    return costly.label if costly.kind == STYLE else f"the word '{costly.label}'"


def costly_sentence(costly: CostlyLabel) -> str:
    """Return its cost with interval and number of observations."""
    return (
        f"{costly.cost_db:.1f} dB more than the average (95 %: {costly.low_db:.1f} to "
        f"{costly.high_db:.1f}), n {costly.n}"
    )


def costly_mistake(costly: CostlyLabel) -> str:
    """Return which character is most often typed instead, "" if this is not known."""
    if not costly.typed:
        return ""
    return f"most often typed as {costly.typed} ({usual_word(costly.typed)})"


def usual_word(character: str) -> str:
    """Return the usual spoken word for one character."""
    if character.isdigit():
        return DIGIT_WORDS[int(character)]
    return ITU_CODE_WORDS.get(character, character).lower()
