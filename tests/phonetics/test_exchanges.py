"""Exchanges: the built-in ones work; any TOML text gives an exchange or a clear error."""

import random
import string
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.callsign_mixes import compose_callsign
from phonetics.callsigns import parse_callsign as parse_call
from phonetics.exchanges import (
    Exchange,
    ExchangeError,
    exchange_names,
    load_exchange,
    parse_exchange,
)
from phonetics.field_kinds import FIELD_KINDS
from phonetics.over_style import draw_over_style
from phonetics.series import holder_of
from phonetics.word_lists import area_names, given_names

SHIPPED = (
    "age", "area", "five-part", "locator", "name-area", "power", "serial", "zone-amateur",
    "zone-itu",
)  # fmt: skip
HEAD = 'title = "T"\nsentence = "S."\n'


def field(text: str) -> str:
    return f"{HEAD}[[field]]\n{text}\n"


def test_there_are_nine_built_in_exchanges() -> None:
    assert exchange_names() == SHIPPED


@pytest.mark.parametrize("name", SHIPPED)
def test_a_composed_field_is_valid_for_its_kind(name: str) -> None:
    exchange, rng = load_exchange(name), random.Random(1)
    for progress in range(300):
        for made in exchange.compose(rng, compose_callsign(rng), progress=progress):
            value = FIELD_KINDS[made.kind].value
            assert value(made.text) is not None, made
            assert value(" ".join(made.text.lower())) == value(made.text), made


@pytest.mark.parametrize("name", SHIPPED)
def test_the_words_of_a_field_carry_its_value(name: str) -> None:
    """The meanings of a field's words, joined, have the value of the field."""
    exchange, rng = load_exchange(name), random.Random(2)
    for progress in range(300):
        over_style = draw_over_style(rng)
        for made in exchange.compose(rng, compose_callsign(rng), progress=progress):
            kind = FIELD_KINDS[made.kind]
            words = kind.say(made.text, over_style, rng, made.name)
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
def test_different_ways_to_type_a_value_are_equal(kind: str, texts: tuple[str, ...]) -> None:
    assert len({FIELD_KINDS[kind].value(text) for text in texts}) == 1
    assert FIELD_KINDS[kind].value(texts[0]) is not None


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("zone-itu", "91"), ("zone-itu", "0"), ("zone-amateur", "41"), ("zone-itu", "O7"),
        ("report", "5"), ("report", "69"), ("report", "50"), ("report", "599"),
        ("serial", "I4"), ("serial", ""), ("power", "W"), ("power", "lots"), ("age", "old"),
        ("call", " "), ("year", "8O"), ("serial", "1" * 30), ("serial", "²"),
    ],
)  # fmt: skip
def test_text_of_another_kind_has_no_value(kind: str, text: str) -> None:
    assert FIELD_KINDS[kind].value(text) is None


@given(kind=st.sampled_from(sorted(FIELD_KINDS)), text=st.text(max_size=40))
def test_any_text_has_a_value_or_none(kind: str, text: str) -> None:
    hash(FIELD_KINDS[kind].value(text))


@given(text=st.text(string.ascii_uppercase + string.digits, min_size=1, max_size=6))
def test_letters_and_digits_are_never_confused(text: str) -> None:
    swapped = text.translate(str.maketrans("O0I1", "0O1I"))
    value = FIELD_KINDS["call"].value
    assert (value(text) == value(swapped)) == (text == swapped)


def test_zones_and_locators_match_the_call() -> None:
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
            name: load_exchange(name).compose(rng, call, progress=0)[1].text
            for name in ("zone-itu", "zone-amateur", "locator")
        }
        assert (int(texts["zone-itu"]), int(texts["zone-amateur"])) == (itu, amateur), prefix
        assert texts["locator"][0] in columns, prefix


def test_serial_numbers_rise_during_a_session_and_differ_between_stations() -> None:
    exchange, rng = load_exchange("serial"), random.Random(5)

    def serials(progress: int) -> list[int]:
        return [
            int(exchange.compose(rng, compose_callsign(rng), progress=progress)[1].text)
            for _ in range(300)
        ]

    early, late = sorted(serials(2)), sorted(serials(60))
    assert early[150] < late[150] / 5
    assert late[30] < late[150] < late[270]
    assert early[0] >= 1
    assert late[-1] <= 9999


def test_most_reports_are_59() -> None:
    rng = random.Random(6)
    reports = [
        load_exchange("serial").compose(rng, compose_callsign(rng), progress=0)[0].text
        for _ in range(1000)
    ]
    assert 0.8 < reports.count("59") / 1000 < 0.9
    assert (
        load_exchange("serial").compose(rng, compose_callsign(rng), progress=0)[0].optional_if
        == "59"
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "needs 1 to 8"),
        ("title = 3", "needs 1 to 8"),
        ("x = [", "is not TOML"),
        (HEAD, "needs 1 to 8"),
        (field("kind = 'song'"), "kind 'song' is unknown; use one of call"),
        (field("kind = ['serial']"), "is unknown"),
        (field("name = 'x'"), "kind None is unknown"),
        (field("kind = 'serial'\nname = 'Big Name'"), "is not 1 to 15 lower-case letters"),
        (field("kind = 'serial'\noptional = true"), "only a report can be optional"),
        (field("kind = 'report'\noptional = 'yes'"), "only a report can be optional"),
        (field("kind = 'serial'\ncolour = 1"), "unknown key 'colour'"),
        (field("kind = 'area'\ncodes = []"), "is not a list of codes"),
        (field("kind = 'area'\ncodes = ['a b']"), "is not a list of codes"),
        (field("kind = 'area'\nset = 'mars'"), "is unknown; use hills"),
        (field("kind = 'number'"), "needs low and high"),
        (field("kind = 'number'\nlow = 9\nhigh = 1"), "low 9 is above high 1"),
        (field("kind = 'number'\nlow = true\nhigh = 3"), "is not a whole number"),
        (field("kind = 'word'"), "needs words"),
        (field("kind = 'report'\nusual = 3"), "is not a share"),
        (field("kind = 'locator'\npairs = 4"), "from 2 to 3"),
        (field("kind = 'age'\n[[field]]\nkind = 'age'"), "two fields with the same name"),
        (HEAD + "[field]\nkind = 'age'", "needs 1 to 8"),
        (HEAD + "author = 'x'\n[[field]]\nkind = 'age'", "unknown key 'author'"),
        ("sentence = 'S.'\n[[field]]\nkind = 'age'", "needs a title"),
    ],
)
def test_a_bad_declaration_gives_a_one_line_error(text: str, expected: str) -> None:
    with pytest.raises(ExchangeError) as caught:
        parse_exchange(text, "mine")
    assert expected in str(caught.value)
    assert "'mine'" in str(caught.value)
    assert "\n" not in str(caught.value)


json = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner),
    max_leaves=6,
)


def toml(value: object) -> str:
    """Return a value as TOML, for the kinds of value that the test uses."""
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


options = sorted(
    {name for kind in FIELD_KINDS.values() for name in kind.options} | {"optional", "x"}
)


@given(
    kind=st.sampled_from([*FIELD_KINDS, "song"]),
    given_options=st.dictionaries(st.sampled_from(options), json, max_size=3),
)
def test_any_toml_gives_a_working_exchange_or_a_clear_error(
    kind: str, given_options: dict[str, object]
) -> None:
    lines = [f"{key} = {toml(value)}" for key, value in given_options.items()]
    try:
        exchange = parse_exchange(field("\n".join([f'kind = "{kind}"', *lines])), "any")
    except ExchangeError as error:
        assert "\n" not in str(error)
        return
    rng = random.Random(1)
    for made in exchange.compose(rng, compose_callsign(rng), progress=3):
        FIELD_KINDS[made.kind].say(made.text, draw_over_style(rng), rng, made.name)


@given(text=st.text(max_size=200))
def test_any_text_gives_an_exchange_or_a_clear_error(text: str) -> None:
    try:
        assert isinstance(parse_exchange(text, "any"), Exchange)
    except ExchangeError as error:
        assert "\n" not in str(error)


def test_a_user_file_adds_or_replaces_an_exchange(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(field("kind = 'area'\ncodes = ['AB']"))
    (tmp_path / "serial.toml").write_text(field("kind = 'age'"))
    assert exchange_names(tmp_path) == (*SHIPPED, "mine")
    rng = random.Random(1)
    (made,) = load_exchange("mine", tmp_path).compose(rng, compose_callsign(rng), progress=0)
    assert (made.name, made.text) == ("area", "AB")
    assert load_exchange("serial", tmp_path).fields[0].kind == "age"
    assert load_exchange("serial").fields[0].kind == "report"


@pytest.mark.parametrize("name", ["nowhere", "../serial", "", "Serial", "a" * 99, "serial.toml"])
def test_an_unknown_name_lists_the_known_ones(name: str) -> None:
    with pytest.raises(ExchangeError, match="choose one of age, area"):
        load_exchange(name)


@pytest.mark.parametrize("value", ["2026-01-01", "12:30:00", "true", "[]"])
@pytest.mark.parametrize("key", ["kind", "name", "usual", "watts", "low", "letters", "codes"])
def test_a_value_of_a_wrong_type_is_shown_as_it_is_written(key: str, value: str) -> None:
    kinds = {"usual": "report", "watts": "power", "low": "age", "letters": "letter"}
    kind = "" if key == "kind" else f"kind = '{kinds.get(key, 'area')}'\n"
    with pytest.raises(ExchangeError, match="x") as refused:
        parse_exchange(field(f"{kind}{key} = {value}"), "x")
    message = str(refused.value)
    assert f"{key} {value} is" in message
    assert "datetime" not in message
    assert "<" not in message


def test_a_byte_order_mark_does_not_matter(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_bytes(b"\xef\xbb\xbf" + field("kind = 'call'").encode())
    assert load_exchange("mine", tmp_path).title == "T"


def test_a_file_whose_name_has_capitals_is_not_listed_and_explained(tmp_path: Path) -> None:
    (tmp_path / "Mine.toml").write_text(field("kind = 'call'"))
    assert "Mine" not in exchange_names(tmp_path)
    with pytest.raises(ExchangeError, match="rename its file to 1 to 31 lower-case letters"):
        load_exchange("Mine", tmp_path)


def test_a_binary_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ExchangeError, match="cannot be read"):
        load_exchange("mine", tmp_path)


def test_areas_and_names_can_be_spelt() -> None:
    hills = area_names("hills")
    assert len(hills) >= 50
    assert all(len(code) == 3 and code.isalpha() and code.isupper() for code in hills)
    assert all(name.isascii() and name.isalpha() for name in given_names())


def test_the_five_part_exchange_has_its_own_order_and_letters() -> None:
    exchange, rng = load_exchange("five-part"), random.Random(9)
    assert [rule.name for rule in exchange.fields] == ["call", "area", "year", "class", "serial"]
    letters = {exchange.compose(rng, compose_callsign(rng), progress=0)[3].text for _ in range(100)}
    assert letters == set("CFTV")


def test_no_invented_contest_has_the_name_of_a_place_or_a_genre() -> None:
    titles = {name: load_exchange(name).title for name in SHIPPED}
    assert titles["locator"] == "Four Gates Contest"
    assert titles["name-area"] == "First Names Evening"
    assert not [title for title in titles.values() if "Corners" in title or "Sprint" in title]


def test_a_stroke_moves_the_station() -> None:
    """A prefix before the stroke is the place where the station is (RR 19.68)."""
    rng = random.Random(8)
    call = parse_call("JA/DL1QRA")
    assert load_exchange("zone-amateur").compose(rng, call, progress=0)[1].text == "25"
    assert holder_of("JA") == "Japan"
