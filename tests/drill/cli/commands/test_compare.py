"""faintcall compare, with a simulated trainee at the keyboard."""

import re
from pathlib import Path

import pytest

from drill.cli import main
from tests.drill.simulated_trainee import SimulatedTrainee, answer_prompts


def test_a_comparison_is_blind_and_ends_with_the_difference(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answer_prompts(monkeypatch, SimulatedTrainee())
    words = "compare filter 2600 1800 --items 8 --seed 3 --voices tin,wren --mix unassigned"
    assert main([*words.split(), "--audio-to", str(tmp_path / "sounds")]) == 0
    before, _, after = capsys.readouterr().out.partition("x50, SNR in 3 kHz")
    assert "1800" not in before
    assert re.search(
        r"1800 compared with 2600: x50 differs by [+-]\d+\.\d dB \(95 %: .*\): ", after
    )
    assert "of 8 copied" in after
    assert re.search(r"for the recogniser own \w{12} on the same items", after)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("", "nothing to compare; give one of conditions, fading"),
        ("colour red blue", "'colour' cannot be compared; choose one of conditions"),
        ("fading steady", "two or more different values"),
        ("fading steady fog", "fading preset 'fog' is unknown"),
        ("alternates 0 lots", "share of alternates 'lots' is not a number"),
        ("fading steady mid-quiet --snr 3", "leave out the SNR and the power"),
    ],
)
def test_a_wrong_comparison_is_refused_in_one_line(
    words: str, message: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", *words.split(), "--audio-to", str(home / "out")]) == 2
    line = capsys.readouterr().err.strip()
    assert message in line
    assert "\n" not in line
