"""The sending drill: prompts, alignment, measures, the review, the far end, what is remembered."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.radio.presets import load_preset
from drill.recogniser import RecognisedWord
from drill.recogniser.grammar import Grammar
from drill.records.store import Store
from drill.sending.align import align
from drill.sending.expected import EXPECTING, OPEN, grammar, wanted
from drill.sending.far import far_ends, index
from drill.sending.hearing import hear
from drill.sending.history import past, remembered, tally
from drill.sending.limits import LIMITS
from drill.sending.models import FAULT, Prompt, Review, Take
from drill.sending.prompts import KINDS, choose, prompt, station, weights
from drill.sending.review import change, pace, review
from drill.sending.sound_quality import measure
from drill.voices.operators import find_operator
from phonetics.exchanges import exchange_names, load_exchange
from phonetics.field_kinds import FIELD_KINDS as FIELDS
from phonetics.over_style import draw_over_style
from tests.outside.human_recordings import call_prompt
from tests.tools.defect_table import prompt_for
from tests.tools.defects import DEFECTS, in_a_room, spoilt

CALL = "E87ABC"
WORDS = ["echo", "eight", "seven", "alfa", "bravo", "charlie"]


class Told:
    """A listener that hears what it is told, pass after pass."""

    name, version, unsure = "told", "1", 0.1

    def __init__(self, *passes: str, confidence: float = 0.9) -> None:
        self._passes, self._confidence = list(passes), confidence

    def problem(self) -> str:
        return ""

    def hear(self, clip: Clip, grammar: Grammar) -> tuple[RecognisedWord, ...]:
        words = self._passes.pop(0) if len(self._passes) > 1 else self._passes[0]
        return tuple(
            RecognisedWord(say=say, start_s=at * 0.4, end_s=at * 0.4 + 0.3, confidence=self._confidence)
            for at, say in enumerate(words.split())
        )


def noise(seconds: float = 6.0) -> Clip:
    """Return a hiss for 2.6 s, then quiet: for a listener that is told what it hears."""
    time = np.arange(round(16_000 * seconds)) / 16_000
    hiss = np.random.default_rng(1).standard_normal(len(time))
    sound = np.where(time < 2.6, 0.05, 1e-5) * hiss
    return Clip(samples=sound.astype(np.float32), rate_hz=16_000)


def kinds(*passes: str, asked: Prompt | None = None) -> list[tuple[str, str, bool]]:
    take = Take(prompt=asked or call_prompt(CALL), clip=noise())
    _, heard = hear(take, Told(*passes))
    return [(one.kind, one.say or one.wanted, one.sure) for one in heard if one.kind != "right"]


# --- prompts


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("exchange", exchange_names())
def test_every_prompt_is_whole_and_comes_again_from_its_seed(kind: str, exchange: str) -> None:
    at = station(CALL, load_exchange(exchange))
    for seed in range(5):
        asked = prompt(kind, at, seed)
        assert asked == prompt(kind, at, seed)
        assert Prompt.from_dict(asked.to_dict()) == asked
        assert asked.fields
        graph = wanted(asked)
        said = [word.say for word in asked.words]
        assert all(step.kind == "right" for step in align(said, graph)), said
        for odds in (EXPECTING, OPEN):
            assert grammar(graph, odds).accepts(said)


@settings(max_examples=100, deadline=None)
@given(seed=st.integers(0, 2**40), exchange=st.sampled_from(exchange_names()))
def test_every_manner_of_saying_it_is_right(seed: int, exchange: str) -> None:
    rng = Random(seed)
    asked = prompt("exchange", station(CALL, load_exchange(exchange)), seed)
    over_style = draw_over_style(rng)
    said = [
        word.say
        for field in asked.fields
        for word in FIELDS[field.kind].say(field.text, over_style, rng, field.name)
    ]
    graph = wanted(asked)
    steps = align(said, graph)
    assert {step.kind for step in steps} <= {"right", "procedure", "back"}, said
    assert grammar(graph, EXPECTING).accepts(said), said


def test_what_went_badly_comes_sooner() -> None:
    at = station(CALL, load_exchange("serial"))
    asked = prompt("suffix", at, 1)
    bad = review(Take(prompt=asked, clip=noise()), Told("alfa alfa alfa"))
    likely = weights([(asked, bad)])
    assert likely["suffix"] > likely["call"] == 1
    drawn = [choose(at, seed, [(asked, bad)] * 5).kind for seed in range(200)]
    assert drawn.count("suffix") > 2 * drawn.count("call")


def test_a_call_of_no_form_is_refused() -> None:
    with pytest.raises(UserError, match="own call"):
        station("HELLO", load_exchange("serial"))
    with pytest.raises(UserError, match="there is no prompt"):
        prompt("song", station(CALL, load_exchange("serial")), 1)


# --- alignment


@pytest.mark.parametrize(
    ("heard", "found"),
    [
        ("echo eight seven alfa bravo charlie", []),
        ("this is echo eight seven alfa bravo charlie over", ["procedure"] * 3),
        ("echo eight seven alfa delta charlie", ["wrong"]),
        ("echo eight seven alfa charlie", ["missing"]),
        ("echo eight seven alfa bravo kilo charlie", ["extra"]),
        ("echo eight seven bravo alfa charlie", ["order", "order"]),
        ("echo uh eight seven alfa um bravo charlie", ["filler", "filler"]),
        ("echo eight seven america boston charlie", ["form", "form"]),
        ("echo eight seven alfa alfa bravo charlie", ["again"]),
        ("echo eight seven alfa delta correction alfa bravo charlie",
         ["corrected", "procedure", "again"]),
        ("echo eight seven alfa bravo charlie echo eight seven alfa bravo charlie", ["again"] * 6),
    ],
)  # fmt: skip
def test_each_kind_of_slip_is_named(heard: str, found: list[str]) -> None:
    """Each expectation written down by hand."""
    assert [kind for kind, _, _ in kinds(heard)] == found


@settings(max_examples=150, deadline=None)
@given(heard=st.lists(st.sampled_from([*WORDS, "delta", "nine"]), max_size=9))
def test_the_account_is_never_dearer_than_the_edit_distance(heard: list[str]) -> None:
    """Outside check: rapidfuzz's Levenshtein distance bounds the slips, and accounts are whole."""
    steps = align(heard, wanted(call_prompt(CALL)))
    slips = sum(step.kind in ("wrong", "missing", "extra", "back") for step in steps)
    slips += sum(step.kind == "order" for step in steps) // 2
    assert slips <= Levenshtein.distance(WORDS, heard) + 1e-9
    told = [step.heard for step in steps if step.heard is not None]
    assert sorted(told) == list(range(len(heard)))


def test_what_one_pass_alone_finds_is_not_sure() -> None:
    wrong = "echo eight seven alfa delta charlie"
    assert kinds(wrong, " ".join(WORDS)) == [("wrong", "delta", False)]
    assert kinds(wrong, wrong) == [("wrong", "delta", True)]


def test_the_second_pass_names_the_word() -> None:
    first, second = "echo eight seven alfa delta charlie", "echo eight seven alfa denmark charlie"
    assert kinds(first, second) == [("wrong", "denmark", True)]


def test_one_of_two_like_words_left_out_is_not_sure() -> None:
    asked = call_prompt("E88ABC")
    assert kinds("echo eight alfa bravo charlie", asked=asked) == [("missing", "eight", False)]


def test_other_words_are_advice_with_the_standard_beside() -> None:
    take = Take(prompt=call_prompt(CALL), clip=noise())
    found = review(take, Told("echo eight seven america bravo charlie"))
    form = next(one for one in found.findings if one.name == "form")
    assert (form.weight, form.about) == ("advice", ("A",))
    assert "america" in form.says
    assert "alfa" in form.says
    assert found.right


# --- measures


def test_pace_by_hand() -> None:
    words = [
        RecognisedWord(say=say, start_s=start_s, end_s=end_s, confidence=1)
        for say, start_s, end_s in (("alfa", 0, 0.5), ("one", 0.6, 0.8), ("november", 1.4, 2.0))
    ]
    assert pace(words) == pytest.approx((90.0, 3.0, 0.6))
    assert pace(words[:1]) == (0.0, 0.0, 0.0)


def tone(*parts: tuple[float, float], seconds: float = 4.0, rate_hz: int = 16_000) -> Clip:
    """Return sines of (Hz, level in dB), the first on in the middle half alone."""
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    gate = (time > seconds / 4) & (time < 3 * seconds / 4)
    sound = np.zeros(len(time))
    for place, (hz, level_db) in enumerate(parts):
        wave = np.sqrt(2) * 10 ** (level_db / 20) * np.sin(2 * np.pi * hz * time)
        sound += wave * (gate if place == 0 else 1)
    return Clip(samples=sound.astype(np.float32), rate_hz=rate_hz)


MIDDLE = (RecognisedWord(say="alfa", start_s=1.0, end_s=3.0, confidence=1.0),)


@pytest.mark.parametrize("rate_hz", [16_000, 48_000])
@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
def test_hum_is_measured(mains_hz: float, rate_hz: int) -> None:
    """Levels are those that the sines were made with."""
    clip = tone((1000, -20), (mains_hz, -45), (2 * mains_hz, -48), rate_hz=rate_hz)
    hiss = 1e-4 * np.random.default_rng(2).standard_normal(len(clip.samples))
    found = measure(replace(clip, samples=(clip.samples + hiss).astype(np.float32)), MIDDLE)
    assert found.mains_hz == mains_hz
    assert found.hum_db is not None
    assert found.noise_db is not None
    level_db = 10 * np.log10(10**-4.5 + 10**-4.8)
    assert found.hum_db + found.level_db == pytest.approx(level_db, abs=0.3)
    assert found.noise_db == pytest.approx(found.level_db + 80, abs=0.5)


@pytest.mark.parametrize("steady_hz", [None, 73.0, 440.0])
def test_other_sounds_are_no_hum(steady_hz: float | None) -> None:
    clip = tone((1000, -20), *([(steady_hz, -50)] if steady_hz else []))
    hiss = 3e-3 * np.random.default_rng(3).standard_normal(len(clip.samples))
    found = measure(replace(clip, samples=(clip.samples + hiss).astype(np.float32)), MIDDLE)
    assert found.hum_db is None or steady_hz == 440.0
    power = 9e-6 + (1e-5 if steady_hz else 0)
    assert found.noise_db == pytest.approx(found.level_db - 10 * np.log10(power), abs=0.7)


def test_a_clipped_sine_is_found_and_a_clean_one_is_not() -> None:
    clean = tone((300, -6))
    assert measure(clean, MIDDLE).clipped < 0.06
    cut = replace(clean, samples=np.clip(clean.samples, -0.3, 0.3))
    assert measure(cut, MIDDLE).clipped > 0.2


def test_balance_is_that_of_the_sines() -> None:
    both = tone((500, -20), (2000, -32))
    words = (RecognisedWord(say="alfa", start_s=0.0, end_s=4.0, confidence=1.0),)
    gated = replace(both, samples=both.samples[20_000:44_000])
    assert measure(gated, words).balance_db == pytest.approx(-12, abs=0.5)
    assert measure(gated, words).passed == pytest.approx(1, abs=0.02)


@pytest.mark.parametrize(
    ("clip", "why"),
    [
        (Clip(samples=np.zeros(16_000, np.float32), rate_hz=16_000), "silent"),
        (Clip(samples=np.ones(160, np.float32), rate_hz=16_000), "lasts 0.01 s"),
        (Clip(samples=np.ones(16_000 * 61, np.float32), rate_hz=16_000), "at most 60"),
    ],
)
def test_what_is_no_take_is_refused(clip: Clip, why: str) -> None:
    with pytest.raises(UserError, match=why):
        review(Take(prompt=call_prompt(CALL), clip=clip), Told("echo"))


def test_every_limit_names_its_source_and_remedy() -> None:
    for name, limit in LIMITS.items():
        assert limit.source and limit.remedy.endswith("."), name
        assert (limit.low is None) != (limit.high is None)
        assert limit.passed(None)


# --- the whole review, on takes with known defects


@pytest.mark.parametrize("name", DEFECTS)
def test_each_defect_is_found_and_no_other(name: str) -> None:
    """A subset of the table in DEVELOPERS.md."""
    defect = DEFECTS[name]
    speaker = "slate" if name != "hurried" else "meadow"
    found = review(spoilt(prompt_for(defect, 3), find_operator(speaker), defect, 3))
    told = {one.name for one in found.findings if one.weight == FAULT or one.name in defect.told}
    assert told == defect.told
    assert Review.from_dict(found.to_dict()) == found


def test_a_second_take_is_held_against_the_first() -> None:
    asked = call_prompt(CALL)
    first = review(Take(prompt=asked, clip=noise()), Told("echo eight seven alfa delta charlie"))
    second = review(Take(prompt=asked, clip=noise()), Told(" ".join(WORDS)))
    found = change(first, second)
    assert found.gone == ("wrong B",)
    assert not found.new
    assert change(second, second).gone == ()


# --- the far end


def test_less_power_leaves_less_and_the_reference_is_level_with_itself() -> None:
    asked = prompt("call", station(CALL, load_exchange("serial")), 2)
    clip = spoilt(asked, find_operator("meadow"), DEFECTS["none"], asked.seed).clip
    found = far_ends(clip, asked, Conditions(), path_snr_db=12.0, seed=1)
    assert [end.watts for end in found.ends] == [100, 20, 5]
    assert [end.snr_db for end in found.ends] == pytest.approx([12, 5.01, -1.01], abs=0.01)
    indexes = [end.index for end in found.ends]
    assert indexes == sorted(indexes, reverse=True)
    assert found.behind_db == pytest.approx(0, abs=1.5)
    loss = found.ends[-1].loss
    assert loss.bands[0][0] >= 300
    assert loss.bands[-1][0] <= 2700
    assert all(-1 <= value <= 1 for _, value in (*loss.bands, *loss.times))


def test_a_muffled_voice_falls_behind() -> None:
    """Highs 18 dB an octave down from 800 Hz: less of the envelope stays above the noise."""
    from scipy.signal import butter, lfilter

    asked = prompt("call", station(CALL, load_exchange("serial")), 2)
    clip = spoilt(asked, find_operator("meadow"), DEFECTS["none"], asked.seed).clip
    b, a = butter(3, 800, fs=clip.rate_hz)
    dull = replace(clip, samples=lfilter(b, a, clip.samples).astype(np.float32))
    found = far_ends(dull, asked, Conditions(), path_snr_db=12.0, seed=1)
    assert found.ends[1].index < found.ends[1].reference - 0.02


def test_the_index_of_a_sound_with_itself_is_one() -> None:
    clip = spoilt(call_prompt_said(), find_operator("meadow"), DEFECTS["none"], 1).clip
    assert index(clip, clip) == pytest.approx(1)


def call_prompt_said() -> Prompt:
    return prompt("call", station(CALL, load_exchange("serial")), 2)


def test_fading_conditions_run() -> None:
    asked = call_prompt_said()
    clip = in_a_room(spoilt(asked, find_operator("meadow"), DEFECTS["none"], 2).clip, Random(1))
    ends = far_ends(
        clip, asked, load_preset("usual-day").conditions, path_snr_db=12, seed=1, watts=(5,)
    )
    assert 0 < ends.ends[0].index < 1
    assert ends.behind_db is None or abs(ends.behind_db) < 10


# --- what is remembered


def takes(store: Store, heard: Sequence[str]) -> None:
    asked = call_prompt(CALL)
    for day, words in enumerate(heard, 1):
        found = review(Take(prompt=asked, clip=noise()), Told(words))
        store.add_take(
            asked.to_dict(), found.to_dict(), now=datetime(2025, 5, day, tzinfo=UTC), version="1"
        )


def test_takes_are_kept_and_told_of(tmp_path: Path) -> None:
    with Store(tmp_path / "record") as store:
        takes(store, ["echo eight seven alfa charlie", " ".join(WORDS)])
        found = list(past(store))
        assert [one.at[:10] for one in found] == ["2025-05-02", "2025-05-01"]
        assert found[0].review.right
        assert remembered(store)[1][0] == call_prompt(CALL)
        told = tally(found)
        assert (told.takes, told.right) == (2, 1)
        assert ("missing", 1) in told.found
        with store.transaction(writes=True) as db:
            db.execute("INSERT INTO take (at, prompt, review, version) VALUES ('x','{}','{}','9')")
        assert len(list(past(store))) == 2


def test_settings_are_kept(tmp_path: Path) -> None:
    with Store(tmp_path / "record") as store:
        assert store.setting("own-call") is None
        store.set_setting("own-call", "E87ABC")
        store.set_setting("own-call", "E87ABD")
    with Store(tmp_path / "record") as store:
        assert store.setting("own-call") == "E87ABD"
