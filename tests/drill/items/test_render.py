"""Rendering items to audio: repeatable, and without noise on request."""

from dataclasses import replace

import numpy as np
import pytest

from drill import voices
from drill.core.conditions import Conditions, Neighbour
from drill.core.errors import NoVoice
from drill.core.models import Item
from drill.items.plan import Plan, compose_item
from drill.items.render import receive_item, render, render_clean, synthesise_item

PLAN = Plan(
    seed=77, count=20, mix="unassigned", voices=("meadow",)
)  # the natural engine uses the seed
CONDITIONS = Conditions(snr_db=3, neighbours=(Neighbour(),))


@pytest.fixture(scope="module")
def item() -> Item:
    """Return an item with a neighbour."""
    return compose_item(replace(PLAN, conditions=CONDITIONS), 0)


def test_the_same_item_gives_the_same_samples(item: Item) -> None:
    audio = receive_item(item)
    assert audio.snr_db == 3
    assert np.array_equal(audio.clip.samples, render(item).samples)


def test_another_seed_gives_other_noise(item: Item) -> None:
    other = render(replace(item, seed=item.seed + 1)).samples
    samples = render(item).samples
    length = min(len(samples), len(other))
    assert not np.array_equal(samples[:length], other[:length])


def test_each_station_speaks_its_own_words_with_its_own_seed(item: Item) -> None:
    wanted, neighbour = synthesise_item(item)
    assert [time.say for time in wanted.words] == [word.say for word in item.message.words]
    message, operator = item.neighbours[0].message, item.neighbours[0].operator
    expected = voices.speak(message.words, operator, item.seed + 1)
    assert np.array_equal(neighbour.samples, expected.samples)


def test_the_clean_over_does_not_depend_on_the_conditions(item: Item) -> None:
    clean = render_clean(item)
    quiet = replace(item, conditions=Conditions(snr_db=20), neighbours=())
    assert np.array_equal(clean.samples, render_clean(quiet).samples)
    assert [time.say for time in clean.words] == [word.say for word in item.message.words]
    first = round(clean.words[0].start_s * clean.rate_hz)
    silence = clean.samples[: first // 2]
    assert np.max(np.abs(silence)) < 0.01 * np.max(np.abs(clean.samples))


def test_a_missing_engine_is_reported(item: Item) -> None:
    lost = replace(item, operator=replace(item.operator, engine="brass"))
    with pytest.raises(NoVoice, match="'brass'"):
        render(lost)
