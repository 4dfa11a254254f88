"""The roster: many different people as data; groups of them, and who is drawn."""

from itertools import combinations
from pathlib import Path
from random import Random

import numpy as np
import pytest

from drill import voices
from drill.cli import main
from drill.core.errors import NoVoice, UserError
from drill.core.models import Operator
from drill.items.plan import Plan, compose
from drill.radio.presets import preset
from drill.session import blocks
from drill.voices.engines.formant.engine import accents as formant_accents
from drill.voices.engines.natural.pronounce import accents as natural_accents
from drill.voices.people import roster
from drill.voices.people.roster import ROSTER, draw_operator, operator, operators
from drill.voices.people.styles import styled, styles

SOFT = [each for each in ROSTER if not each.hard]
MEASURING = {
    "birch": (101.0, 0.86, 1.00, 0.0, 1.0),
    "maple": (127.0, 0.89, 0.90, 4.0, 1.0),
    "copper": (143.0, 0.92, 1.20, 0.0, 0.8),
    "pebble": (180.0, 0.98, 1.10, 0.0, 1.3),
    "meadow": (190.0, 1.00, 1.00, 0.0, 1.0),
    "clover": (226.0, 1.04, 1.05, 3.0, 1.0),
}


def test_there_are_many_with_names_of_their_own() -> None:
    assert len(SOFT) >= 60
    assert len({each.name for each in ROSTER}) == len(ROSTER)
    assert all(each.name.isalpha() and each.name not in roster.GROUPS for each in ROSTER)


@pytest.mark.parametrize("each", ROSTER, ids=lambda each: each.name)
def test_everybody_is_within_what_the_engines_can_do(each: Operator) -> None:
    """Pitch of speech, 70 to 350 Hz shouted: common practice, no source."""
    assert 80 <= each.pitch_hz <= 260
    assert 70 <= styled(each).pitch_hz <= 350
    assert 0.8 <= each.tract <= 1.1
    assert 0.8 <= styled(each).pace <= 1.45
    assert each.style in styles()
    known = {"natural": natural_accents(), "formant": formant_accents()}[each.engine]
    assert each.accent in ("", *known)


def test_those_who_measure_are_as_they_were() -> None:
    """A voice that changes under the trainee changes the measurement: these are of version 0.2."""
    assert set(blocks.VOICES) == set(MEASURING)
    for name, (pitch_hz, tract, pace, breath_db, melody) in MEASURING.items():
        assert operator(name) == Operator(
            name=name,
            engine="natural",
            voice="heart",
            pitch_hz=pitch_hz,
            tract=tract,
            pace=pace,
            breath_db=breath_db,
            melody=melody,
        )


@pytest.mark.parametrize("engine", ["natural", "formant"])
def test_nobody_is_nearly_somebody_else(engine: str) -> None:
    """Two within 2 % in pitch and tract differ in accent, style, pace or breath."""
    some = [each for each in ROSTER if each.engine == engine]
    for a, b in combinations(some, 2):
        alike = abs(np.log(a.pitch_hz / b.pitch_hz)) < 0.02 and abs(a.tract - b.tract) < 0.02
        other = (a.accent, a.style) != (b.accent, b.style) or abs(a.breath_db - b.breath_db) >= 3
        assert not alike or other or abs(a.pace - b.pace) >= 0.1, (a.name, b.name)


def test_every_style_and_accent_is_heard() -> None:
    assert {each.style for each in SOFT} == set(styles())
    assert {each.accent for each in SOFT} >= {"", *natural_accents()}
    plain = sum(each.style == "plain" for each in SOFT)
    assert 0.4 < plain / len(SOFT) < 0.75


def test_groups_stand_for_their_people() -> None:
    assert operators(["bundled"]) == tuple(SOFT)
    assert operators(["slate", "bundled", "slate"])[0] == operator("slate")
    assert len(operators(["slate", "bundled"])) == len(SOFT)
    assert operators(["thistle", "tin"]) == (operator("thistle"), operator("tin"))


def test_an_unknown_name_is_told_in_a_short_line() -> None:
    for name in ("nobody", "bankk-x"):
        with pytest.raises(
            UserError, match=f"'{name}'.*faintcall choices.*bundled, studio"
        ) as told:
            operator(name)
        assert len(str(told.value)) < 150


def studio_person(monkeypatch: pytest.MonkeyPatch) -> Operator:
    """Have the roster hold one person of an engine that is not on this machine."""
    someone = Operator(name="atelier", engine="missing", voice="x", pitch_hz=120.0)
    known = roster.people

    def people(group: str) -> tuple[roster.Person, ...]:
        own = (roster.Person(operator=someone, habits=""),)
        return own if group == "studio" else known(group)

    monkeypatch.setattr(roster, "people", people)
    return someone


def test_a_missing_engine_is_told_when_it_has_to_speak(monkeypatch: pytest.MonkeyPatch) -> None:
    """The item stays what it is: nobody else steps in."""
    someone = studio_person(monkeypatch)
    item = compose(Plan(seed=3, voices=("studio",)), 4)
    assert item.operator == someone
    with pytest.raises(NoVoice, match="no voice engine 'missing'"):
        voices.speak(item.message.words, item.operator, item.seed)


def test_an_empty_group_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    known = roster.people
    monkeypatch.setattr(roster, "people", lambda group: () if group == "studio" else known(group))
    with pytest.raises(UserError, match="'studio' has no operators"):
        Plan(seed=1, voices=("studio",))


def test_slow_engines_neither_begin_nor_stand_beside(monkeypatch: pytest.MonkeyPatch) -> None:
    someone = studio_person(monkeypatch)
    monkeypatch.setattr(roster, "SLOW_ENGINES", ("missing",))
    for seed in range(40):
        plan = Plan(
            seed=seed, voices=("studio", "slate"), conditions=preset("busy-weekend").conditions
        )
        assert compose(plan, 0).operator.name == "slate"
        assert {each.operator.name for each in compose(plan, 1).neighbours} == {"slate"}
    drawn = {compose(plan, number).operator.name for number in range(1, 40)}
    assert drawn == {"slate", someone.name}
    only = Plan(seed=1, voices=("studio",))
    assert compose(only, 0).operator == someone


def test_the_draw_is_a_function_of_the_chance() -> None:
    drawn = [draw_operator(Random(seed), None).name for seed in range(300)]
    assert drawn == [draw_operator(Random(seed), ["bundled"]).name for seed in range(300)]
    assert len(set(drawn)) > 0.9 * len(SOFT)


def test_choices_fit_a_screen(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["choices"]) == 0
    told = capsys.readouterr().out
    assert all(each.name in told for each in ROSTER)
    block = told[told.index("Operators of the group bundled") :].splitlines()
    assert len(block) < len(ROSTER)
    assert max(map(len, block)) <= 80


def test_a_plan_spells_the_groups_out(home: Path) -> None:
    from drill.cli import parser
    from drill.cli.options import plan_from

    everybody = tuple(each.name for each in SOFT)
    for words in ("copy", "copy --voices bundled", "copy --voices slate,bundled"):
        plan = plan_from(parser().parse_args(words.split()))
        assert set(plan.voices) == set(everybody)
        assert len(plan.voices) == len(everybody)


@pytest.mark.slow
@pytest.mark.parametrize("each", ROSTER, ids=lambda each: each.name)
def test_everybody_has_the_pitch_asked_for(each: Operator) -> None:
    """Over five calls: the melody of a single one may lie a tenth off the voice's middle."""
    from tests.tools.voice_gate import composed_calls, median_pitch_hz, words_of

    pitches = [
        median_pitch_hz(voices.utter(words_of(call), each, 7))
        for call in composed_calls(5, Random(2))
    ]
    assert float(np.median(pitches)) == pytest.approx(styled(each).pitch_hz, rel=0.12)
