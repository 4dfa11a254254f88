"""The grammar of any words: code words, figures and everything else that messages contain."""

from functools import cache

from drill.recogniser.grammar import Grammar, any_number, build_grammar, choice
from drill.recogniser.language import FILLER_WORDS, RARE_WEIGHT
from phonetics.phrases import message_vocabulary


@cache
def free_word_grammar() -> Grammar:
    """Return the grammar of any number of words of `phonetics` in any order."""
    words = choice(sorted(message_vocabulary()))
    return build_grammar("words", any_number(words), FILLER_WORDS, RARE_WEIGHT)
