"""The voice file of an operator for the formant engine."""

from dataclasses import replace

from drill.voices.engines.formant.voice_file import voice_definition
from drill.voices.operators import find_operator


def test_shouting_moves_the_first_formant_alone() -> None:
    operator = find_operator("tin")
    shouted = voice_definition(replace(operator, vocal_style="shouted")).splitlines()
    plain = voice_definition(operator).splitlines()
    changed = [(a, b) for a, b in zip(plain, shouted, strict=True) if a != b]
    assert changed == [("formant 1 100 100 100", "formant 1 110 100 100")]
