"""Overs as they are spoken: the truth stands beside every word, in every manner."""

import random
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phonetics.alphabets import spell
from phonetics.callsigns import compose
from phonetics.exchanges import KINDS, load, names
from phonetics.manners import Manner, draw_manner
from phonetics.message import Message
from phonetics.phrases import (
    PARTS,
    PHRASES,
    compose_message,
    compose_phrase,
    text_of,
    vocabulary,
)

seeds = st.integers(0, 2**32)


def message(seed: int, part: str = "over", exchange: str = "serial", **habits: object) -> Message:
    rng = random.Random(seed)
    manner = Manner(**habits) if habits else draw_manner(rng)  # type: ignore[arg-type]
    call = compose(rng, mix="unassigned")
    return compose_message(
        rng, part=part, exchange=load(exchange), call=call, progress=7, manner=manner
    )


@given(seed=seeds, part=st.sampled_from(PARTS), exchange=st.sampled_from(names()))
def test_every_field_can_be_copied_from_the_words(seed: int, part: str, exchange: str) -> None:
    made = message(seed, part, exchange)
    for field in made.fields:
        kind = KINDS[field.kind]
        meant = "".join(word.means for word in made.words if word.field == field.name)
        if field.kind == "call" and meant == 2 * field.text:  # given twice
            meant = field.text
        assert kind.value(meant) == kind.value(field.text), made


@given(seed=seeds, part=st.sampled_from(PARTS), exchange=st.sampled_from(names()))
def test_words_are_plain_and_known(seed: int, part: str, exchange: str) -> None:
    for word in message(seed, part, exchange).words:
        assert re.fullmatch(r"[a-z]+(?:-[a-z]+)*", word.say), word
        assert word.pause in ("", ",", ".")
        assert word.say in vocabulary()
        assert bool(word.field) <= (word.means != "" or word.say == "double")


@given(seed=seeds)
def test_a_message_survives_json(seed: int) -> None:
    made = message(seed)
    assert Message.from_dict(made.to_dict()) == made


def test_the_same_seed_gives_the_same_over() -> None:
    assert message(5) == message(5)
    assert message(5) != message(6)


def test_overs_vary() -> None:
    lines = {re.sub(r"\b(alfa|bravo)\b", "", text_of(message(seed))) for seed in range(60)}
    assert len(lines) == 60
    assert len({message(seed).words[0].field for seed in range(60)}) >= 3


def test_a_lone_call_is_the_call_and_nothing_else() -> None:
    made = message(3, "call")
    assert [field.name for field in made.fields] == ["call"]
    assert "".join(word.means for word in made.words) == made.call
    assert made.exchange == ""


def test_an_exchange_with_a_call_of_its_own_gives_it_once() -> None:
    made = message(3, "over", "five-part")
    assert [field.kind for field in made.fields].count("call") == 1


def test_the_call_is_grouped_after_its_digit() -> None:
    grouped = 0
    for seed in range(200):
        words = message(seed, "call", alternates=0.0).words
        digits = [i for i, word in enumerate(words) if word.means.isdigit()]
        grouped += any(words[i].pause == "," for i in digits)
    assert 120 < grouped < 180


def test_habits_are_heard() -> None:
    said = {word.say for seed in range(50) for word in message(seed, zero="oh").words}
    assert "oh" in said
    assert "zero" not in said
    said = {word.say for seed in range(80) for word in message(seed, figures="icao").words}
    assert {"niner", "fife"} <= said
    assert not {"nine", "five"} & said
    numbers = [text_of(message(seed, number_word=True)) for seed in range(20)]
    assert all("number" in line for line in numbers)
    plain = [text_of(message(seed, alternates=0.0)) for seed in range(80)]
    mixed = [text_of(message(seed, alternates=1.0)) for seed in range(80)]
    assert not any("london" in line for line in plain)
    assert any("london" in line for line in mixed)
    slow = [text_of(message(seed, hesitates=1.0)) for seed in range(20)]
    assert all(" er, " in line for line in slow)
    assert not any(" er, " in line for line in plain)


def test_an_operator_keeps_to_the_words_it_has() -> None:
    """Boston for B whatever the seed; C, for which it has none, is free."""
    said = {
        word.say
        for seed in range(60)
        for word in spell(
            "BC", rng=random.Random(seed), manner=Manner(alternates=1.0, words=("boston",))
        )
    }
    assert said == {"boston", "canada", "chile"}


@given(seed=seeds, exchange=st.sampled_from(names()))
def test_the_manner_leaves_what_is_to_be_copied(seed: int, exchange: str) -> None:
    made = []
    for manner in (Manner(), draw_manner(random.Random(seed + 1))):
        rng = random.Random(seed)
        call = compose(rng)
        given = load(exchange)
        made.append(
            compose_message(rng, part="over", exchange=given, call=call, progress=3, manner=manner)
        )
    assert made[0].fields == made[1].fields


@pytest.mark.parametrize("kind", PHRASES)
def test_phrases_of_every_kind(kind: str) -> None:
    rng = random.Random(1)
    for _ in range(60):
        call = compose(rng, mix="unassigned")
        fields = load("serial").compose(rng, call, progress=1)
        made = compose_phrase(rng, kind, call=call, manner=draw_manner(rng), fields=fields)
        assert made.words
        assert {word.say for word in made.words} <= vocabulary()
        meant = "".join(word.means for word in made.words if word.field == "call")
        whole = meant == call.text * (len(meant) // len(call.text))
        suffix = meant == call.suffix * (len(meant) // max(1, len(call.suffix)))
        assert whole or suffix


def test_what_cannot_be_said_is_refused() -> None:
    rng = random.Random(1)
    call = compose(rng)
    with pytest.raises(ValueError, match="part 'song' is unknown"):
        message(1, "song")
    with pytest.raises(ValueError, match="needs an exchange"):
        compose_message(
            rng, part="over", exchange=None, call=call, progress=0, manner=draw_manner(rng)
        )
    with pytest.raises(ValueError, match="phrase 'song' is unknown"):
        compose_phrase(rng, "song", call=call, manner=draw_manner(rng))
    with pytest.raises(ValueError, match="needs the fields"):
        compose_phrase(rng, "report", call=call, manner=draw_manner(rng))
