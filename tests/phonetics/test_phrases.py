"""Overs: in every over style, the words carry the fields."""

import random
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.alphabets import spell
from phonetics.callsign_mixes import compose_callsign
from phonetics.exchanges import exchange_names, load_exchange
from phonetics.field_kinds import FIELD_KINDS
from phonetics.message import Message
from phonetics.over_style import OverStyle, draw_over_style
from phonetics.phrases import (
    MESSAGE_PARTS,
    PHRASE_TEMPLATES,
    compose_message,
    compose_phrase,
    message_vocabulary,
    spoken_text,
)

seeds = st.integers(0, 2**32)


def message(seed: int, part: str = "over", exchange: str = "serial", **habits: object) -> Message:
    rng = random.Random(seed)
    over_style = OverStyle(**habits) if habits else draw_over_style(rng)  # type: ignore[arg-type]
    call = compose_callsign(rng, mix="unassigned")
    return compose_message(
        rng,
        part=part,
        exchange=load_exchange(exchange),
        call=call,
        progress=7,
        over_style=over_style,
    )


@given(seed=seeds, part=st.sampled_from(MESSAGE_PARTS), exchange=st.sampled_from(exchange_names()))
def test_the_words_carry_every_field(seed: int, part: str, exchange: str) -> None:
    result = message(seed, part, exchange)
    for field in result.fields:
        kind = FIELD_KINDS[field.kind]
        meant = "".join(word.means for word in result.words if word.field == field.name)
        if field.kind == "call" and meant == 2 * field.text:  # given twice
            meant = field.text
        assert kind.value(meant) == kind.value(field.text), result


@given(seed=seeds, part=st.sampled_from(MESSAGE_PARTS), exchange=st.sampled_from(exchange_names()))
def test_words_are_plain_and_in_the_vocabulary(seed: int, part: str, exchange: str) -> None:
    for word in message(seed, part, exchange).words:
        assert re.fullmatch(r"[a-z]+(?:-[a-z]+)*", word.say), word
        assert word.pause in ("", ",", ".")
        assert word.say in message_vocabulary()
        assert bool(word.field) <= (word.means != "" or word.say == "double")


@given(seed=seeds)
def test_a_message_survives_json(seed: int) -> None:
    result = message(seed)
    assert Message.from_dict(result.to_dict()) == result


def test_the_same_seed_gives_the_same_over() -> None:
    assert message(5) == message(5)
    assert message(5) != message(6)


def test_overs_vary() -> None:
    lines = {re.sub(r"\b(alfa|bravo)\b", "", spoken_text(message(seed))) for seed in range(60)}
    assert len(lines) == 60
    assert len({message(seed).words[0].field for seed in range(60)}) >= 3


def test_the_part_call_contains_only_the_call() -> None:
    result = message(3, "call")
    assert [field.name for field in result.fields] == ["call"]
    assert "".join(word.means for word in result.words) == result.call
    assert result.exchange == ""


def test_an_exchange_that_contains_the_call_gives_it_once() -> None:
    result = message(3, "over", "five-part")
    assert [field.kind for field in result.fields].count("call") == 1


def test_a_call_has_a_pause_after_its_digit() -> None:
    grouped = 0
    for seed in range(200):
        words = message(seed, "call", alternates=0.0).words
        digits = [i for i, word in enumerate(words) if word.means.isdigit()]
        grouped += any(words[i].pause == "," for i in digits)
    assert 120 < grouped < 180


def test_every_habit_changes_the_words() -> None:
    spoken = {word.say for seed in range(50) for word in message(seed, zero="oh").words}
    assert "oh" in spoken
    assert "zero" not in spoken
    spoken = {word.say for seed in range(80) for word in message(seed, figures="icao").words}
    assert {"niner", "fife"} <= spoken
    assert not {"nine", "five"} & spoken
    numbers = [spoken_text(message(seed, number_word=True)) for seed in range(20)]
    assert all("number" in line for line in numbers)
    plain = [spoken_text(message(seed, alternates=0.0)) for seed in range(80)]
    mixed = [spoken_text(message(seed, alternates=1.0)) for seed in range(80)]
    assert not any("london" in line for line in plain)
    assert any("london" in line for line in mixed)
    slow = [spoken_text(message(seed, hesitates=1.0)) for seed in range(20)]
    assert all(" er, " in line for line in slow)
    assert not any(" er, " in line for line in plain)


def test_an_operator_always_uses_its_favourite_words() -> None:
    """B is always Boston; C, for which the operator has no favourite, varies."""
    spoken = {
        word.say
        for seed in range(60)
        for word in spell(
            "BC", rng=random.Random(seed), over_style=OverStyle(alternates=1.0, words=("boston",))
        )
    }
    assert spoken == {"boston", "canada", "chile"}


@given(seed=seeds, exchange=st.sampled_from(exchange_names()))
def test_the_over_style_does_not_change_the_fields(seed: int, exchange: str) -> None:
    result = []
    for over_style in (OverStyle(), draw_over_style(random.Random(seed + 1))):
        rng = random.Random(seed)
        call = compose_callsign(rng)
        given = load_exchange(exchange)
        result.append(
            compose_message(
                rng, part="over", exchange=given, call=call, progress=3, over_style=over_style
            )
        )
    assert result[0].fields == result[1].fields


@pytest.mark.parametrize("kind", PHRASE_TEMPLATES)
def test_every_kind_of_phrase(kind: str) -> None:
    rng = random.Random(1)
    for _ in range(60):
        call = compose_callsign(rng, mix="unassigned")
        fields = load_exchange("serial").compose(rng, call, progress=1)
        result = compose_phrase(
            rng, kind, call=call, over_style=draw_over_style(rng), fields=fields
        )
        assert result.words
        assert {word.say for word in result.words} <= message_vocabulary()
        meant = "".join(word.means for word in result.words if word.field == "call")
        whole = meant == call.text * (len(meant) // len(call.text))
        suffix = meant == call.suffix * (len(meant) // max(1, len(call.suffix)))
        assert whole or suffix


def test_impossible_messages_are_refused() -> None:
    rng = random.Random(1)
    call = compose_callsign(rng)
    with pytest.raises(ValueError, match="part 'song' is unknown"):
        message(1, "song")
    with pytest.raises(ValueError, match="needs an exchange"):
        compose_message(
            rng, part="over", exchange=None, call=call, progress=0, over_style=draw_over_style(rng)
        )
    with pytest.raises(ValueError, match="phrase 'song' is unknown"):
        compose_phrase(rng, "song", call=call, over_style=draw_over_style(rng))
    with pytest.raises(ValueError, match="needs its fields"):
        compose_phrase(rng, "report", call=call, over_style=draw_over_style(rng))
