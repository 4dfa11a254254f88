"""How the words of an item arrive at the receiver."""

from dataclasses import replace

import numpy as np
import pytest

from drill.core.conditions import Conditions, Fading, Neighbour, Receiver
from drill.core.models import Clip, Item
from drill.items.heard_words import QUIET_DB, TRACK_STEP_S, hear_words, word_clip
from drill.items.plan import Plan, compose_item
from drill.items.render import render, render_clean

PLAN = Plan(seed=7, count=9, mix="unassigned", voices=("birch",))


def item(number: int = 0, **conditions: object) -> Item:
    chosen = Conditions(**{"snr_db": 0.0, **conditions})  # type: ignore[arg-type]
    return compose_item(replace(PLAN, conditions=chosen), number)


def test_on_a_steady_path_the_words_have_the_stated_snr() -> None:
    """Words are louder than speech with its pauses, by 1 to 3 dB; weak ones are softer."""
    levels = [
        word.snr_db for number in range(4) for word in hear_words(item(number, snr_db=-3.0)).words
    ]
    assert np.mean([level for level in levels if level is not None]) == pytest.approx(-2.0, abs=1.5)
    assert all(abs(word.faded_db) < 0.01 for word in hear_words(item()).words)


def test_each_word_has_the_times_of_the_rendered_item() -> None:
    sent = item()
    heard, clip = hear_words(sent), render(sent)
    assert [word.say for word in heard.words] == [word.say for word in sent.message.words]
    assert [(word.start_s, word.end_s) for word in heard.words] == [
        pytest.approx((word.start_s, word.end_s)) for word in clip.words
    ]


def test_another_snr_changes_all_words_by_the_same_amount() -> None:
    strong, weak = (hear_words(item(snr_db=snr_db)).words for snr_db in (6.0, -6.0))
    for one, other in zip(strong, weak, strict=True):
        assert one.snr_db is not None and other.snr_db is not None
        assert one.snr_db - other.snr_db == pytest.approx(12.0, abs=1e-3)


def test_fading_lowers_some_words_and_the_level_track_shows_it() -> None:
    heard = hear_words(item(fading=Fading(delay_ms=1.0, spread_hz=2.0)))
    faded = [word.faded_db for word in heard.words]
    assert min(faded) < -2 < 0 < max(faded) + 3
    steps = round(render(item()).seconds / TRACK_STEP_S)
    assert abs(len(heard.levels.voice_db) - steps) <= 1
    assert max(heard.levels.voice_db) > 0 > min(heard.levels.voice_db)


def test_a_strong_neighbour_covers_words() -> None:
    alone = hear_words(item())
    beside = hear_words(item(neighbours=(Neighbour(offset_hz=500.0, snr_db=15.0),)))
    assert max(word.others_db or 0 for word in alone.words) < 3
    assert max(word.others_db or 0 for word in beside.words) > 6


def test_without_noise_the_words_have_no_snr() -> None:
    heard = hear_words(item(snr_db=None, receiver=Receiver(agc="off")))
    assert all(word.snr_db is None and word.others_db is None for word in heard.words)
    assert set(heard.levels.rest_db) == {QUIET_DB}


def test_a_word_alone_is_cut_out_with_ramps() -> None:
    sent = item()
    for clip in (render(sent), render_clean(sent)):
        word = word_clip(clip, 1)
        time = clip.words[1]
        assert word.seconds == pytest.approx(time.end_s - time.start_s + 0.16, abs=0.001)
        assert word.samples[0] == word.samples[-1] == 0
        assert np.abs(word.samples).max() > 0.05
    with pytest.raises(IndexError):
        word_clip(Clip(samples=clip.samples, rate_hz=clip.rate_hz), 0)
