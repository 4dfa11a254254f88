"""Operators are found by name or group, and drawn at random for a call."""

from dataclasses import replace
from random import Random

import pytest

from drill import voices
from drill.core.errors import NoVoice, UserError
from drill.core.models import Operator
from drill.items.plan import Plan, compose_item
from drill.radio.presets import load_preset
from drill.voices import operators
from drill.voices.operators import draw_operator, find_operator, find_operators
from drill.voices.people import roster
from drill.voices.people.roster import ROSTER, RosterEntry

EASY = tuple(operator for operator in ROSTER if not operator.hard)
NATURAL = tuple(operator for operator in EASY if operator.engine == "natural")
STUDIO_OPERATOR = Operator(name="atelier", engine="missing", voice="x", pitch_hz=120.0)
"""An operator whose engine is not installed anywhere."""


@pytest.fixture
def _studio_with_one_operator(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make STUDIO_OPERATOR the only member of the studio group."""
    replace_studio_group(monkeypatch, RosterEntry(operator=STUDIO_OPERATOR, habit_profile=""))


def replace_studio_group(monkeypatch: pytest.MonkeyPatch, *entries: RosterEntry) -> None:
    entries_of_files = roster.roster_entries
    monkeypatch.setattr(
        roster,
        "roster_entries",
        lambda group: entries if group == "studio" else entries_of_files(group),
    )


class TestFindOperators:
    def test_a_group_means_its_operators_but_the_hard_ones(self) -> None:
        assert find_operators(["bundled"]) == EASY
        assert find_operators(["natural"]) == NATURAL
        assert find_operators(["natural", "formant"]) == EASY
        assert find_operators(["thistle", "tin"]) == (
            find_operator("thistle"),
            find_operator("tin"),
        )

    def test_an_operator_named_twice_comes_once(self) -> None:
        assert find_operators(["slate", "bundled", "slate"])[0] == find_operator("slate")
        assert len(find_operators(["slate", "bundled"])) == len(EASY)

    @pytest.mark.parametrize("name", ["nobody", "bankk-x"])
    def test_an_unknown_name_is_reported_in_a_short_line(self, name: str) -> None:
        with pytest.raises(
            UserError, match=f"'{name}'.*faintcall choices.*formant, bundled, studio"
        ) as error:
            find_operator(name)
        assert len(str(error.value)) < 150

    def test_a_group_without_operators_is_reported(self, monkeypatch: pytest.MonkeyPatch) -> None:
        replace_studio_group(monkeypatch)
        with pytest.raises(UserError, match="'studio' has no operators"):
            Plan(seed=1, voices=("studio",))

    @pytest.mark.usefixtures("_studio_with_one_operator")
    def test_an_operator_without_its_engine_is_reported_when_it_speaks(self) -> None:
        """The item keeps its operator; no other operator replaces it."""
        item = compose_item(Plan(seed=3, voices=("studio",)), 4)
        assert item.operator == STUDIO_OPERATOR
        with pytest.raises(NoVoice, match="no voice engine 'missing'"):
            voices.speak(item.message.words, item.operator, item.seed)


class TestDrawOperator:
    def test_the_same_seed_draws_the_same_operator(self) -> None:
        drawn = [draw_operator(Random(seed), None).name for seed in range(300)]
        assert drawn == [draw_operator(Random(seed), ["natural"]).name for seed in range(300)]
        assert len(set(drawn)) > 0.9 * len(NATURAL)

    def test_formant_operators_are_drawn_only_if_named(self) -> None:
        engines = {draw_operator(Random(seed), None).engine for seed in range(300)}
        assert engines == {"natural"}
        named = {draw_operator(Random(seed), ["formant"]).engine for seed in range(30)}
        assert named == {"formant"}

    def test_the_pace_is_multiplied(self) -> None:
        slate = find_operator("slate")
        quick = draw_operator(Random(1), ["slate"], pace=1.2)
        assert quick == replace(slate, pace=round(slate.pace * 1.2, 3))

    @pytest.mark.parametrize(
        ("names", "pace", "message"),
        [
            (["nobody"], 1, "nobody"),
            ([], 1, "no operator is named"),
            (None, 3, "pace 3 is out of range"),
            (["slate"], 0.1, "pace 0.1 is out of range"),
        ],
    )
    def test_a_wrong_choice_is_reported(
        self, names: list[str] | None, pace: float, message: str
    ) -> None:
        with pytest.raises(UserError, match=message):
            draw_operator(Random(1), names, pace=pace)

    @pytest.mark.usefixtures("_studio_with_one_operator")
    def test_slow_engines_speak_neither_the_first_item_nor_as_neighbours(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(operators, "SLOW_ENGINES", ("missing",))
        conditions = load_preset("busy-weekend").conditions
        for seed in range(40):
            plan = Plan(seed=seed, voices=("studio", "slate"), conditions=conditions)
            assert compose_item(plan, 0).operator.name == "slate"
            neighbours = compose_item(plan, 1).neighbours
            assert {speech.operator.name for speech in neighbours} == {"slate"}
        drawn = {compose_item(plan, number).operator.name for number in range(1, 40)}
        assert drawn == {"slate", STUDIO_OPERATOR.name}

    @pytest.mark.usefixtures("_studio_with_one_operator")
    def test_a_slow_engine_speaks_if_no_other_is_named(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(operators, "SLOW_ENGINES", ("missing",))
        assert compose_item(Plan(seed=1, voices=("studio",)), 0).operator == STUDIO_OPERATOR
