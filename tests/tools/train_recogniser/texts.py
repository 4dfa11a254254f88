"""What the synthetic speakers say: composed calls, overs, numbers and free words.

Each stretch is a short list of words for one utterance. The texts come from `phonetics`, so that
the training covers whatever the product can compose; free words keep it from learning only the
structure of calls.
"""

from collections.abc import Iterator, Sequence
from functools import cache
from random import Random

from phonetics.alphabets import ALTERNATE_WORDS, ITU_CODE_WORDS
from phonetics.callsign_mixes import compose_callsign
from phonetics.exchanges import Exchange, exchange_names, load_exchange
from phonetics.message import Word
from phonetics.numerals import DIGIT_WORDS, say_number
from phonetics.over_style import draw_over_style
from phonetics.phrases import PHRASE_TEMPLATES, compose_message, compose_phrase
from tests.tools.train_recogniser.vocabulary import phonemes

LONGEST = 8
"""Most words of one utterance; longer overs are cut, at a pause if there is one."""
SHARES = (("call", 31), ("apart", 9), ("words", 20), ("word", 12), ("number", 5), ("over", 15),
          ("phrase", 8))  # fmt: skip
"""How often each kind of text is drawn; "apart" is a call whose words are said one by one."""
LETTERS = tuple(word.lower() for word in ITU_CODE_WORDS.values())
OTHER_LETTERS = (*(word.lower() for words in ALTERNATE_WORDS.values() for word in words), "zee")
SPOKEN_DIGITS = (*DIGIT_WORDS, "oh", "niner", "fower", "fife", "tree")


@cache
def _exchanges() -> tuple[Exchange, ...]:
    return tuple(load_exchange(name) for name in exchange_names())


def stretches(rng: Random) -> list[list[Word]]:
    """Return the words of one or more utterances of one speaker, each 1 to LONGEST words long."""
    kind = rng.choices([name for name, _ in SHARES], [weight for _, weight in SHARES])[0]
    if kind == "words":
        return [_free_words(rng)]
    if kind == "word":
        pool = LETTERS * 3 + SPOKEN_DIGITS * 3 + OTHER_LETTERS + ("stroke", "slash", "portable")
        return [[Word(say=rng.choice(pool if rng.random() < 0.8 else tuple(phonemes())))]]
    over_style = draw_over_style(rng)
    if kind == "number":
        width = rng.choice([1, 2, 3, 3, 4])
        return [list(say_number(str(rng.randrange(10**width)).zfill(width), over_style))]
    call = compose_callsign(rng, mix="world", strokes=0.08)
    if kind in ("call", "apart"):
        said = compose_message(
            rng, part="call", exchange=None, call=call, progress=0, over_style=over_style
        ).words
    elif kind == "over":
        part = rng.choice(["exchange", "over", "over"])
        said = compose_message(
            rng,
            part=part,
            exchange=rng.choice(_exchanges()),
            call=call,
            progress=rng.randint(0, 1500),
            over_style=over_style,
        ).words
    else:
        phrase = rng.choice([name for name in PHRASE_TEMPLATES if name != "report"])
        said = compose_phrase(rng, phrase, call=call, over_style=over_style).words
    return [[Word(say=word.say)] for word in said] if kind == "apart" else list(_cut(said, rng))


def _cut(words: Sequence[Word], rng: Random) -> Iterator[list[Word]]:
    """Yield an over in pieces of at most LONGEST words, cut at random pauses."""
    piece: list[Word] = []
    for word in words:
        piece.append(word)
        chance = {"": 0.0, ",": 0.35, ".": 0.8}[word.pause]
        if len(piece) >= LONGEST or (len(piece) >= 2 and rng.random() < chance):
            yield piece
            piece = []
    if piece:
        yield piece


def _free_words(rng: Random) -> list[Word]:
    """Return one to seven words in random order, which no grammar allows."""
    pools: list[tuple[Sequence[str], int]] = [
        (LETTERS * 2 + DIGIT_WORDS * 4, 45),
        (LETTERS + SPOKEN_DIGITS * 2 + OTHER_LETTERS, 15),
        (OTHER_LETTERS, 15),
        (tuple(phonemes()), 25),
    ]
    pool = rng.choices([pool for pool, _ in pools], [weight for _, weight in pools])[0]
    count = rng.choice([1, 1, 2, 3, 4, 5, 6, 7])
    words = [rng.choice(pool) for _ in range(count)]
    return [
        Word(say=word, pause="," if place < count - 1 and rng.random() < 0.15 else "")
        for place, word in enumerate(words)
    ]
