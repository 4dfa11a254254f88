"""Measuring, checking and comparing in the terminal, with a simulated listener at the keyboard."""

import re
from pathlib import Path

import pytest

from drill.cli import main
from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.blocks import blocks
from tests.drill.typist import Typist, at_the_keyboard

VOICES = ["--voices", "tin,wren", "--mix", "unassigned"]


def command(words: str, tmp_path: Path) -> list[str]:
    return [*words.split(), "--audio-to", str(tmp_path / "sounds"), *VOICES]


def test_a_block_tells_nothing_until_its_end(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    at_the_keyboard(monkeypatch, Typist())
    assert main(command("measure --items 24 --seed 3", tmp_path)) == 0
    out = capsys.readouterr().out
    before, _, after = out.partition("This block:")
    for telling in ("right", "wrong", "sent", "logged", "points", "x50"):
        assert telling not in before.lower().replace("copyright", ""), telling
    assert re.search(r"x50  [+-]\d+\.\d dB \(95 %: ", after)
    assert "x80" in after
    assert "In watts: of what you copy half the time at 100 W" in after
    assert "of 24 copied, 1 block" in after
    # 5 to warm up, 24 that count
    assert "Item 29 of 29: call" in before


def test_a_second_block_is_pooled_and_compared(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    at_the_keyboard(monkeypatch, Typist())
    for seed in (1, 2):
        assert main(command(f"measure --items 24 --seed {seed}", tmp_path)) == 0
    out = capsys.readouterr().out
    assert "All 2 blocks of this kind together:" in out
    assert "of 48 copied, 2 blocks" in out
    assert "is no more than chance: no change shown" in out
    assert "Item 24 of 24" in out  # the second block has nobody to warm up
    with Store(record_file()) as store:
        first, second = blocks(store)
    assert second.course.placement.prior != first.course.placement.prior


def test_it_goes_on_where_it_was_stopped(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Stopped after seven items and resumed, it is the block that it would have been."""
    at_the_keyboard(monkeypatch, Typist(seed=4))
    assert main(command("measure --items 20 --seed 8", tmp_path)) == 0
    with Store(record_file()) as store:
        (whole,) = blocks(store)
    monkeypatch.undo()
    monkeypatch.setenv("FAINTCALL_HOME", str(tmp_path / "other"))
    typist = Typist(seed=4)

    def stops(prompt: str, item: int) -> str | None:
        if item == 7:
            raise KeyboardInterrupt
        return None

    at_the_keyboard(monkeypatch, typist, stops)
    assert main(command("measure --items 20 --seed 8", tmp_path)) == 0
    out = capsys.readouterr().out
    assert "Go on with: faintcall measure --continue" in out
    monkeypatch.undo()
    monkeypatch.setenv("FAINTCALL_HOME", str(tmp_path / "other"))
    at_the_keyboard(monkeypatch, typist)
    assert main(["measure", "--continue", "--audio-to", str(tmp_path / "sounds")]) == 0
    with Store(record_file()) as store:
        (again,) = blocks(store)
    assert again.trials == whole.trials
    assert main(["measure", "--continue", "--audio-to", str(tmp_path / "sounds")]) == 2
    assert "the last sitting is finished" in capsys.readouterr().err


def test_nothing_is_heard_twice_and_the_estimate_only_comes_on_request(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = {12: ["", "?"]}

    def other(prompt: str, item: int) -> str | None:
        return asked[item].pop(0) if asked.get(item) else None

    at_the_keyboard(monkeypatch, Typist(), other)
    assert main(command("measure --items 20 --seed 3", tmp_path)) == 0
    out = capsys.readouterr().out
    assert out.count("Nothing is heard twice here.") == 1
    assert len(re.findall(r"x50 so far [+-]", out)) == 1
    with Store(record_file()) as store:
        (block,) = blocks(store)
    assert len(block.trials) == 20


def test_a_quick_check_gives_a_character_threshold_and_no_block(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    at_the_keyboard(monkeypatch, Typist())
    assert main(command("measure --quick --seed 3", tmp_path)) == 0
    out = capsys.readouterr().out
    assert "Item 30 of 30" in out
    found = re.search(r"character threshold ([+-]\d+\.\d) dB", out)
    assert found
    # Half of the characters at -7 dB, 50 % a dB steep on the logit: three quarters 2.2 dB higher.
    assert float(found[1]) == pytest.approx(-4.8, abs=1.5)
    assert "x50  " not in out
    with Store(record_file()) as store:
        assert blocks(store) == []


def test_a_comparison_is_blind_and_ends_with_the_difference(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    at_the_keyboard(monkeypatch, Typist())
    words = command("compare filter 2600 1800 --items 8 --seed 3", tmp_path)
    assert main(words) == 0
    out = capsys.readouterr().out
    before, _, after = out.partition("x50, SNR in 3 kHz")
    assert "1800" not in before
    assert re.search(r"1800 against 2600: [+-]\d+\.\d dB needed", after)
    assert "of 8 copied" in after


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("measure --snr 3", "leave out --snr"),
        ("measure --watts 3", "leave out --snr and --watts"),
        ("measure --part over", "measuring is of whole calls"),
        ("measure --until 99", "an interval of 99 dB; allowed are 0.5 to 10"),
        ("measure --continue", "no sitting to go on with; start one with: faintcall measure"),
        ("compare", "say what to compare: conditions, fading"),
        ("compare colour red blue", "'colour' cannot be compared; choose one of conditions"),
        ("compare fading steady", "two or more different things"),
        ("compare fading steady fog", "no fading preset 'fog'"),
        ("compare alternates 0 lots", "share of alternates of 'lots'"),
        ("copy --train --snr 3", "leave out --snr and --watts"),
        ("report", "the record is empty"),
    ],
)
def test_what_cannot_be_is_refused_in_a_line(
    words: str, told: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    extra = [] if words == "report" else ["--audio-to", str(home / "out")]
    assert main([*words.split(), *extra]) == 2
    line = capsys.readouterr().err.strip()
    assert told in line
    assert "\n" not in line


def test_training_lets_a_miss_be_heard_clean_and_again(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    at_the_keyboard(monkeypatch, Typist(), lambda prompt, item: "E8A" if item == 1 else "E8ABC")
    assert main(command("copy --train --items 2 --seed 3", tmp_path)) == 0
    out = capsys.readouterr().out
    assert out.count("Clean, then the same in the noise again.") == 2
    names = {path.name for path in (tmp_path / "sounds").iterdir()}
    assert {"item-001.wav", "item-001-clean.wav", "item-001-again.wav"} <= names
    first = (tmp_path / "sounds" / "item-001.wav").read_bytes()
    assert (tmp_path / "sounds" / "item-001-again.wav").read_bytes() == first
    with Store(record_file()) as store:
        assert store.sittings(1)[0].mode == "training"
        assert blocks(store) == []


def test_a_number_that_is_asked_for_is_kept(home: Path) -> None:
    from drill.cli import parser
    from drill.cli.commands.measure import _course

    with Store(record_file()) as store:
        for words, count in (("--quick", 30), ("--quick --items 60", 60), ("--items 24", 29)):
            options = parser().parse_args(["measure", *words.split(), *VOICES])
            assert _course(options, store).count == count
