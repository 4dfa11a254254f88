"""Spelling alphabets: from characters to code words and back.

Calls and codes are upper case A to Z, 0 to 9 and the stroke; spoken words are lower case. Sources:
ITU Radio Regulations Appendix 14 for ITU_CODE_WORDS; ALTERNATE_WORDS are common practice, no
source.
"""

from collections.abc import Iterable
from random import Random

from phonetics.message import Word
from phonetics.numerals import digit_word, number_vocabulary, read_number
from phonetics.over_style import PLAIN_OVER_STYLE, OverStyle

ITU_CODE_WORDS: dict[str, str] = {
    word[0]: word
    for word in (
        "Alfa", "Bravo", "Charlie", "Delta", "Echo", "Foxtrot", "Golf", "Hotel", "India",
        "Juliett", "Kilo", "Lima", "Mike", "November", "Oscar", "Papa", "Quebec", "Romeo",
        "Sierra", "Tango", "Uniform", "Victor", "Whiskey", "X-ray", "Yankee", "Zulu",
    )
}  # fmt: skip

ALTERNATE_WORDS: dict[str, tuple[str, ...]] = {
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
# For operators who say the meaning of a stroke and of the letters after it.
_STROKE_MEANING: dict[str, tuple[tuple[str, str], ...]] = {
    "/P": (("portable", "/P"),),
    "/M": (("mobile", "/M"),),
    "/MM": (("maritime", "/M"), ("mobile", "M")),
}

_TO_CHARACTER: dict[str, str] = {
    **_MISSPELT,
    **{word.lower(): letter for letter, words in ALTERNATE_WORDS.items() for word in words},
    **{word.lower(): letter for letter, word in ITU_CODE_WORDS.items()},
    **_STROKE_WORDS,
    "maritime": "/M",  # in "maritime mobile" (/MM), "mobile" represents only the second M
}


def spell(
    text: str,
    *,
    rng: Random,
    alternates: float | None = None,
    over_style: OverStyle = PLAIN_OVER_STYLE,
    field: str = "",
) -> tuple[Word, ...]:
    """Return the words that spell text, one per character.

    text: letters, ASCII digits and '/' in any case; spaces are skipped. alternates: share of
    letters spoken with a word of ALTERNATE_WORDS; None uses the over style's share. A letter that
    occurs twice is spoken with the same word.

    Raises: ValueError for a character without a code word.
    """
    share = over_style.alternates if alternates is None else alternates
    characters = "".join(text.split()).upper()
    chosen: dict[str, str] = {}
    words: list[Word] = []
    for index, character in enumerate(characters):
        ending = _STROKE_MEANING.get(characters[index:], ())
        if ending and over_style.stroke == "portable":
            words += [Word(say=say, means=means, field=field) for say, means in ending]
            break
        if character not in chosen:
            chosen[character] = _code_word(character, share, over_style, rng)
        words.append(Word(say=chosen[character], means=character, field=field))
    return tuple(words)


def _code_word(character: str, share: float, over_style: OverStyle, rng: Random) -> str:
    if character == "/":
        return "slash" if over_style.stroke == "slash" else "stroke"
    if character in ITU_CODE_WORDS:
        if not (share > 0 and rng.random() < share):
            return ITU_CODE_WORDS[character].lower()
        alternatives = [word.lower() for word in ALTERNATE_WORDS[character]]
        favourites = [word for word in alternatives if word in over_style.words]
        return rng.choice(favourites or alternatives)
    try:
        return digit_word(character, over_style)
    except ValueError:
        raise ValueError(
            f"{character!r} has no code word; use letters A to Z, digits and the stroke"
        ) from None


def characters_from_words(words: str | Iterable[str]) -> str:
    """Return the characters that code words represent, in upper case.

    Accepts the letters and figures of Appendix 14, the alternates, common misspellings (Alpha,
    Juliet, Whisky), plain and ICAO digits, stroke words, and single characters.

    Raises: ValueError naming the first word that is not a code word.
    """
    tokens = words.split() if isinstance(words, str) else list(words)
    for index in range(1, len(tokens)):
        if [word.lower() for word in tokens[index - 1 : index + 1]] == ["maritime", "mobile"]:
            tokens[index] = "m"
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
    letters = {word.lower() for word in ITU_CODE_WORDS.values()}
    alternates = {word.lower() for words in ALTERNATE_WORDS.values() for word in words}
    return frozenset(letters | alternates | set(_STROKE_WORDS) | {"maritime"}) | number_vocabulary()
