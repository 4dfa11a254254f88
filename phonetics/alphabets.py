"""Spelling alphabets: characters to code words and back.

Conventions: a call or code is upper case A to Z, 0 to 9 and the stroke; spoken words are lower
case. Sources: ITU and ITU_FIGURES from ITU Radio Regulations Appendix 14; ICAO_FIGURES from ICAO
Annex 10 Volume II, 5.2.1.4.3.1; ALTERNATES are common practice, no source.
"""

from collections.abc import Iterable
from random import Random

from phonetics.manners import PLAIN, Manner
from phonetics.message import Word
from phonetics.numerals import ICAO_FIGURES, ITU_FIGURES, digit_word, number_vocabulary, read_number

__all__ = [
    "ALTERNATES", "ICAO_FIGURES", "ITU", "ITU_FIGURES", "alphabet_vocabulary", "letters_of",
    "spell",
]  # fmt: skip

ITU: dict[str, str] = {
    word[0]: word
    for word in (
        "Alfa", "Bravo", "Charlie", "Delta", "Echo", "Foxtrot", "Golf", "Hotel", "India",
        "Juliett", "Kilo", "Lima", "Mike", "November", "Oscar", "Papa", "Quebec", "Romeo",
        "Sierra", "Tango", "Uniform", "Victor", "Whiskey", "X-ray", "Yankee", "Zulu",
    )
}  # fmt: skip

ALTERNATES: dict[str, tuple[str, ...]] = {
    "A": ("America", "Amsterdam", "Able"),
    "B": ("Boston", "Baltimore", "Baker"),
    "C": ("Canada", "Chile"),
    "D": ("Denmark", "David", "Dog"),
    "E": ("England", "Easy"),
    "F": ("Florida", "France", "Fox"),
    "G": ("Germany", "Guatemala", "George"),
    "H": ("Honolulu", "Henry", "Hawaii"),
    "I": ("Italy", "Italia", "Item"),
    "J": ("Japan", "John"),
    "K": ("Kilowatt", "King", "Kentucky"),
    "L": ("London", "Lisbon", "Luxembourg"),
    "M": ("Mexico", "Mary", "Madrid"),
    "N": ("Norway", "Nancy", "Nicaragua"),
    "O": ("Ontario", "Ocean", "Oslo"),
    "P": ("Portugal", "Pacific", "Peter"),
    "Q": ("Queen", "Quito"),
    "R": ("Radio", "Robert"),
    "S": ("Santiago", "Sugar", "Spain"),
    "T": ("Tokyo", "Texas"),
    "U": ("United", "Uruguay", "Union"),
    "V": ("Victoria", "Venezuela"),
    "W": ("Washington", "William"),
    "X": ("Xylophone",),
    "Y": ("Yokohama", "Yellow", "Young"),
    "Z": ("Zanzibar", "Zed", "Zebra"),
}

_MISSPELT = {"alpha": "A", "juliet": "J", "whisky": "W", "xray": "X", "charly": "C", "oskar": "O"}
_STROKE_WORDS = {"stroke": "/", "slash": "/", "portable": "/P", "mobile": "/M"}
# What a stroke and the letters after it mean, for operators who say the sense.
_STROKE_SENSE: dict[str, tuple[tuple[str, str], ...]] = {
    "/P": (("portable", "/P"),),
    "/M": (("mobile", "/M"),),
    "/MM": (("maritime", "/M"), ("mobile", "M")),
}

_TO_CHARACTER: dict[str, str] = {
    **_MISSPELT,
    **{word.lower(): letter for letter, words in ALTERNATES.items() for word in words},
    **{word.lower(): letter for letter, word in ITU.items()},
    **_STROKE_WORDS,
    "maritime": "/M",  # "maritime mobile" is /MM: the second word is then an M alone
}


def spell(
    text: str,
    *,
    rng: Random,
    alternates: float | None = None,
    manner: Manner = PLAIN,
    field: str = "",
) -> tuple[Word, ...]:
    """Return the words that spell text, one a character, in the manner of one operator.

    text: letters, ASCII digits, '/' (case does not matter, spaces are skipped). alternates: share
    of letters said with a word of ALTERNATES; None takes the manner's. A letter that comes twice
    is said the same way twice.

    Raises: ValueError where a character has no code word.
    """
    share = manner.alternates if alternates is None else alternates
    characters = "".join(text.split()).upper()
    chosen: dict[str, str] = {}
    words: list[Word] = []
    at = 0
    while at < len(characters):
        sense = _STROKE_SENSE.get(characters[at:], ()) if manner.stroke == "portable" else ()
        if sense:
            words += [Word(say=say, means=means, field=field) for say, means in sense]
            break
        character = characters[at]
        if character not in chosen:
            chosen[character] = _code_word(character, share, manner, rng)
        words.append(Word(say=chosen[character], means=character, field=field))
        at += 1
    return tuple(words)


def _code_word(character: str, share: float, manner: Manner, rng: Random) -> str:
    if character == "/":
        return "slash" if manner.stroke == "slash" else "stroke"
    if character in ITU:
        if not (share > 0 and rng.random() < share):
            return ITU[character].lower()
        known = [word.lower() for word in ALTERNATES[character]]
        return rng.choice([word for word in known if word in manner.words] or known)
    try:
        return digit_word(character, manner)
    except ValueError:
        raise ValueError(
            f"{character!r} has no code word; use letters A to Z, digits and the stroke"
        ) from None


def letters_of(words: str | Iterable[str]) -> str:
    """Return the characters that code words stand for, upper case.

    Reads Appendix 14 letters and figures, the alternates, common misspellings (Alpha, Juliet,
    Whisky), plain and ICAO digits, stroke words, and single characters as they are.

    Raises: ValueError naming the first word that stands for nothing.
    """
    tokens = words.split() if isinstance(words, str) else list(words)
    for place in range(1, len(tokens)):
        if [word.lower() for word in tokens[place - 1 : place + 1]] == ["maritime", "mobile"]:
            tokens[place] = "m"
    return "".join(_character(token) for token in tokens)


def _character(token: str) -> str:
    word = token.lower().strip(".,?")
    if word in _TO_CHARACTER:
        return _TO_CHARACTER[word]
    if word.isascii() and (word.isdigit() or (len(word) == 1 and (word.isalpha() or word == "/"))):
        return word.upper()
    value = read_number(word)
    if value is None:
        raise ValueError(f"{token!r} is not a code word")
    return str(value)


def alphabet_vocabulary() -> frozenset[str]:
    """Return every word that spell can produce."""
    letters = {word.lower() for word in ITU.values()}
    others = {word.lower() for words in ALTERNATES.values() for word in words}
    return frozenset(letters | others | set(_STROKE_WORDS) | {"maritime"}) | number_vocabulary()
