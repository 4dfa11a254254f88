"""Natural operators speak by default, studio ones where they can, formant ones at need."""

from pathlib import Path

import pytest

from drill import voices
from drill.core.errors import NoVoice
from drill.voices import default_operators as module
from drill.voices.default_operators import default_operators

STUDIO_SPEED = "studio_is_quick_enough"


def break_engines(monkeypatch: pytest.MonkeyPatch, *engines: str) -> None:
    find_engine = voices.find_engine

    def find(name: str) -> voices.SpeechEngine:
        if name in engines:
            raise NoVoice(f"the {name} voice needs the package x")
        return find_engine(name)

    monkeypatch.setattr(voices, "find_engine", find)


def engines_drawn(*, with_studio: bool) -> set[str]:
    return {operator.engine for operator in default_operators(with_studio=with_studio)}


def test_only_natural_operators_speak_before_the_computer_is_measured(home: Path) -> None:
    assert engines_drawn(with_studio=True) == {"natural"}
    assert not any(operator.hard for operator in default_operators(with_studio=True))


@pytest.mark.parametrize(
    ("quick", "with_studio", "engines"),
    [
        (True, True, {"natural", "studio"}),
        (True, False, {"natural"}),
        (False, True, {"natural"}),
    ],
)
def test_studio_operators_speak_on_a_quick_computer_if_they_are_prefetched(
    monkeypatch: pytest.MonkeyPatch, quick: bool, with_studio: bool, engines: set[str]
) -> None:
    monkeypatch.setattr(module, STUDIO_SPEED, lambda: quick)
    monkeypatch.setattr(voices, "engine_problems", lambda operators: {})
    assert engines_drawn(with_studio=with_studio) == engines


def test_a_studio_engine_that_was_removed_does_not_speak(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, STUDIO_SPEED, lambda: True)
    break_engines(monkeypatch, "studio")
    assert engines_drawn(with_studio=True) == {"natural"}


def test_formant_operators_speak_if_the_natural_engine_cannot(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    break_engines(monkeypatch, "natural")
    assert engines_drawn(with_studio=True) == {"formant"}


def test_without_any_engine_the_remedies_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    break_engines(monkeypatch, "natural", "formant")
    with pytest.raises(NoVoice, match=r"no operator can speak.*formant.*natural"):
        default_operators(with_studio=False)
