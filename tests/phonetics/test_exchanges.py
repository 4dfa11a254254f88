"""Exchanges: those that ship compose and read back; any text gives one or a clear error."""

import random
import string
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.callsigns import compose
from phonetics.callsigns import parse as parse_call
from phonetics.exchanges import KINDS, Exchange, ExchangeError, load, names, parse
from phonetics.kinds import areas, given_names
from phonetics.manners import draw_manner
from phonetics.series import holder_of

SHIPPED = (
    "age", "area", "five-part", "locator", "name-area", "power", "serial", "zone-amateur",
    "zone-itu",
)  # fmt: skip
HEAD = 'title = "T"\nsentence = "S."\n'


def field(text: str) -> str:
    return f"{HEAD}[[field]]\n{text}\n"


def test_nine_exchanges_ship() -> None:
    assert names() == SHIPPED


@pytest.mark.parametrize("name", SHIPPED)
def test_what_is_composed_is_right_by_its_own_kind(name: str) -> None:
    exchange, rng = load(name), random.Random(1)
    for progress in range(300):
        for made in exchange.compose(rng, compose(rng), progress=progress):
            value = KINDS[made.kind].value
            assert value(made.text) is not None, made
            assert value(" ".join(made.text.lower())) == value(made.text), made


@pytest.mark.parametrize("name", SHIPPED)
def test_the_words_carry_the_value(name: str) -> None:
    """What the words of a field mean, joined, is the field's value again."""
    exchange, rng = load(name), random.Random(2)
    for progress in range(300):
        manner = draw_manner(rng)
        for made in exchange.compose(rng, compose(rng), progress=progress):
            kind = KINDS[made.kind]
            words = kind.say(made.text, manner, rng, made.name)
            meant = "".join(word.means for word in words if word.field == made.name)
            assert kind.value(meant) == kind.value(made.text), (made, words)


@pytest.mark.parametrize(
    ("kind", "texts"),
    [
        ("zone-itu", ("07", "7", "0 7", "007", "oh seven")),
        ("zone-amateur", ("14", "1 4", "fourteen", "one four")),
        ("serial", ("014", "14", "0 1 4", "number fourteen")),
        ("report", ("59", "5 9", "five nine", "fife niner")),
        ("power", ("1000", "1K", "1kw", "kilowatt", "K", "1000 W", "1000 watts")),
        ("power", ("100", "100w", "1 0 0")),
        ("area", ("sto", "S T O", "STO")),
        ("locator", ("JO31", "jo31", "j o 3 1")),
        ("call", ("E8ABC", "e8 abc")),
    ],
)
def test_ways_to_type_one_value(kind: str, texts: tuple[str, ...]) -> None:
    assert len({KINDS[kind].value(text) for text in texts}) == 1
    assert KINDS[kind].value(texts[0]) is not None


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("zone-itu", "91"), ("zone-itu", "0"), ("zone-amateur", "41"), ("zone-itu", "O7"),
        ("report", "5"), ("report", "69"), ("report", "50"), ("report", "599"),
        ("serial", "I4"), ("serial", ""), ("power", "W"), ("power", "lots"), ("age", "old"),
        ("call", " "), ("year", "8O"), ("serial", "1" * 30), ("serial", "²"),
    ],
)  # fmt: skip
def test_no_such_value(kind: str, text: str) -> None:
    assert KINDS[kind].value(text) is None


@given(kind=st.sampled_from(sorted(KINDS)), text=st.text(max_size=40))
def test_any_text_has_a_value_or_none(kind: str, text: str) -> None:
    hash(KINDS[kind].value(text))


@given(text=st.text(string.ascii_uppercase + string.digits, min_size=1, max_size=6))
def test_letters_and_digits_are_never_taken_for_each_other(text: str) -> None:
    swapped = text.translate(str.maketrans("O0I1", "0O1I"))
    value = KINDS["call"].value
    assert (value(text) == value(swapped)) == (text == swapped)


def test_zones_and_locators_agree_with_the_call() -> None:
    """Outside knowledge: common practice, no source (values from memory)."""
    known = {
        "DL": (28, 14, "J"), "JA": (45, 25, "PQ"), "LU": (14, 13, "FG"), "VK": (59, 30, "QP"),
        "ZL": (60, 32, "R"), "OH": (18, 15, "K"), "PY": (15, 11, "G"),
    }  # fmt: skip
    rng = random.Random(4)
    for prefix, (itu, amateur, columns) in known.items():
        digit = "2" if prefix == "VK" else "1"
        call = parse_call(f"{prefix}{digit}QRA")
        texts = {
            name: load(name).compose(rng, call, progress=0)[1].text
            for name in ("zone-itu", "zone-amateur", "locator")
        }
        assert (int(texts["zone-itu"]), int(texts["zone-amateur"])) == (itu, amateur), prefix
        assert texts["locator"][0] in columns, prefix


def test_serial_numbers_rise_through_a_sitting_and_stations_differ() -> None:
    exchange, rng = load("serial"), random.Random(5)

    def serials(progress: int) -> list[int]:
        return [
            int(exchange.compose(rng, compose(rng), progress=progress)[1].text) for _ in range(300)
        ]

    early, late = sorted(serials(2)), sorted(serials(60))
    assert early[150] < late[150] / 5
    assert late[30] < late[150] < late[270]
    assert early[0] >= 1
    assert late[-1] <= 9999


def test_a_report_is_mostly_59_and_not_always() -> None:
    rng = random.Random(6)
    reports = [load("serial").compose(rng, compose(rng), progress=0)[0].text for _ in range(1000)]
    assert 0.8 < reports.count("59") / 1000 < 0.9
    assert load("serial").compose(rng, compose(rng), progress=0)[0].optional_if == "59"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "needs 1 to 8"),
        ("title = 3", "needs 1 to 8"),
        ("x = [", "is not TOML"),
        (HEAD, "needs 1 to 8"),
        (field("kind = 'song'"), "kind 'song' is unknown; use one of call"),
        (field("kind = ['serial']"), "is unknown"),
        (field("name = 'x'"), "kind None is unknown"),
        (field("kind = 'serial'\nname = 'Big Name'"), "is not 1 to 15 small letters"),
        (field("kind = 'serial'\noptional = true"), "is for a report"),
        (field("kind = 'report'\noptional = 'yes'"), "is for a report"),
        (field("kind = 'serial'\ncolour = 1"), "unknown key 'colour'"),
        (field("kind = 'area'\ncodes = []"), "is not a list of codes"),
        (field("kind = 'area'\ncodes = ['a b']"), "is not a list of codes"),
        (field("kind = 'area'\nset = 'mars'"), "is none of hills"),
        (field("kind = 'number'"), "needs low and high"),
        (field("kind = 'number'\nlow = 9\nhigh = 1"), "low 9 is above high 1"),
        (field("kind = 'number'\nlow = true\nhigh = 3"), "is not a whole number"),
        (field("kind = 'word'"), "needs words"),
        (field("kind = 'report'\nusual = 3"), "is not a share"),
        (field("kind = 'locator'\npairs = 4"), "from 2 to 3"),
        (field("kind = 'age'\n[[field]]\nkind = 'age'"), "two fields of one name"),
        (HEAD + "[field]\nkind = 'age'", "needs 1 to 8"),
        (HEAD + "author = 'x'\n[[field]]\nkind = 'age'", "unknown key 'author'"),
        ("sentence = 'S.'\n[[field]]\nkind = 'age'", "needs a title"),
    ],
)
def test_a_bad_declaration_is_told_in_one_line(text: str, told: str) -> None:
    with pytest.raises(ExchangeError) as caught:
        parse(text, "mine")
    assert told in str(caught.value)
    assert "'mine'" in str(caught.value)
    assert "\n" not in str(caught.value)


json = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner),
    max_leaves=6,
)


def toml(value: object) -> str:
    """Return a value in TOML, as far as the test needs it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "[" + ", ".join(toml(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{quoted(k)} = {toml(v)}" for k, v in value.items()) + "}"
    return str(value) if isinstance(value, int | float) else quoted(str(value))


def quoted(text: str) -> str:
    kept = "".join(c for c in text if c.isprintable())
    return '"' + kept.replace("\\", "").replace('"', "") + '"'


options = sorted({name for kind in KINDS.values() for name in kind.options} | {"optional", "x"})


@given(
    kind=st.sampled_from([*KINDS, "song"]),
    given_options=st.dictionaries(st.sampled_from(options), json, max_size=3),
)
def test_any_toml_gives_an_exchange_that_works_or_a_clear_error(
    kind: str, given_options: dict[str, object]
) -> None:
    lines = [f"{key} = {toml(value)}" for key, value in given_options.items()]
    try:
        exchange = parse(field("\n".join([f'kind = "{kind}"', *lines])), "any")
    except ExchangeError as error:
        assert "\n" not in str(error)
        return
    rng = random.Random(1)
    for made in exchange.compose(rng, compose(rng), progress=3):
        KINDS[made.kind].say(made.text, draw_manner(rng), rng, made.name)


@given(text=st.text(max_size=200))
def test_any_text_gives_an_exchange_or_a_clear_error(text: str) -> None:
    try:
        assert isinstance(parse(text, "any"), Exchange)
    except ExchangeError as error:
        assert "\n" not in str(error)


def test_a_users_file_adds_and_replaces(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(field("kind = 'area'\ncodes = ['AB']"))
    (tmp_path / "serial.toml").write_text(field("kind = 'age'"))
    assert names(tmp_path) == (*SHIPPED, "mine")
    rng = random.Random(1)
    (made,) = load("mine", tmp_path).compose(rng, compose(rng), progress=0)
    assert (made.name, made.text) == ("area", "AB")
    assert load("serial", tmp_path).fields[0].kind == "age"
    assert load("serial").fields[0].kind == "report"


@pytest.mark.parametrize("name", ["nowhere", "../serial", "", "Serial", "a" * 99, "serial.toml"])
def test_an_unknown_name_lists_the_known_ones(name: str) -> None:
    with pytest.raises(ExchangeError, match="choose one of age, area"):
        load(name)


def test_a_file_that_is_no_text(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ExchangeError, match="cannot be read"):
        load("mine", tmp_path)


def test_areas_and_names_can_be_sent() -> None:
    hills = areas("hills")
    assert len(hills) >= 50
    assert all(2 <= len(code) <= 3 and code.isalpha() and code.isupper() for code in hills)
    assert all(name.isascii() and name.isalpha() for name in given_names())


def test_a_stroke_moves_the_station() -> None:
    """RR 19.68 calls with another country's prefix before the stroke are where that one is."""
    rng = random.Random(8)
    call = parse_call("JA/DL1QRA")
    assert load("zone-amateur").compose(rng, call, progress=0)[1].text == "25"
    assert holder_of("JA") == "Japan"
