"""Operators whose voice is a word bank, and the replacement of words that a bank lacks.

Every plan needs this module, but only operators with a bank need the modules that it imports in its
functions.
"""

from collections.abc import Sequence

from drill.core.errors import UserError
from drill.core.models import Operator
from drill.voices.wordbank import BANK_ENGINE
from phonetics.message import Word
from phonetics.rewording import reword

BANK_PREFIX = "bank-"
"""Start of the name of every operator whose voice is a word bank."""
_NOMINAL_PITCH_HZ = 120.0  # nominal: the recordings keep the speaker's own pitch


def bank_operator(name: str) -> Operator:
    """Return the operator of a word bank from its name, such as "bank-mine".

    The bank does not have to exist, so that records of a deleted bank stay readable.
    Raises: UserError if the name is not valid.
    """
    from drill.voices.wordbank.storage import check_bank_name

    bank_name = name.removeprefix(BANK_PREFIX)
    check_bank_name(bank_name)
    return Operator(
        name=BANK_PREFIX + bank_name,
        engine=BANK_ENGINE,
        voice=bank_name,
        pitch_hz=_NOMINAL_PITCH_HZ,
    )


def bank_operators() -> tuple[Operator, ...]:
    """Return an operator for each word bank on this computer."""
    from drill.voices.wordbank.storage import bank_names

    return tuple(bank_operator(BANK_PREFIX + name) for name in bank_names())


def missing_words(words: Sequence[Word], operator: Operator) -> tuple[str, ...]:
    """Return the words that the operator's bank lacks, each once; none for other engines.

    Raises: NoVoice if there is no such bank; UserError if it cannot be read.
    """
    if operator.engine != BANK_ENGINE:
        return ()
    from drill.voices.wordbank.engine import require_bank

    bank = require_bank(operator.voice)
    return tuple(dict.fromkeys(word.say for word in words if not bank.can_say(word.say)))


def reword_for_operator(words: Sequence[Word], operator: Operator) -> tuple[Word, ...]:
    """Return the words with those that the operator's bank lacks expressed by other words.

    What the words mean stays the same (see phonetics.rewording). Other engines can say all words.
    Raises: NoVoice and UserError as missing_words.
    """
    missing = missing_words(words, operator)
    if not missing:
        return tuple(words)
    return reword(words, {word.say for word in words} - set(missing))


def check_bank_ready(operator: Operator) -> None:
    """Check that an operator's bank has all essential words; other engines always pass.

    Raises: UserError if the bank or a word is missing, naming the command that records it.
    """
    if operator.engine != BANK_ENGINE:
        return
    from drill.voices.wordbank.storage import load_bank
    from drill.voices.wordbank.words import essential_words

    bank = load_bank(operator.voice)
    if bank is None:
        banks = ", ".join(operator.name for operator in bank_operators()) or "none"
        raise UserError(
            f"there is no word bank {operator.name!r}; there are: {banks}; "
            "record one with: faintcall record-words NAME"
        )
    missing = [word for word in essential_words() if word not in bank.words]
    if missing:
        examples = ", ".join(missing[:5]) + (", ..." if missing[5:] else "")
        raise UserError(
            f"word bank {operator.voice!r} lacks {len(missing)} of the {len(essential_words())} "
            f"essential words ({examples}); "
            f"record them with: faintcall record-words {operator.voice}"
        )
