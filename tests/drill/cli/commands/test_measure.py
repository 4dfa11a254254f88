"""faintcall measure, with a simulated trainee at the keyboard."""

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from drill.cli import main, parser
from drill.cli.session_loop import kind_from_options
from drill.core.paths import record_file
from drill.records.store import Store
from drill.session.blocks import measurement_blocks
from drill.session.kinds import registered_kinds
from tests.drill.machine_copies import copy_without_sound
from tests.drill.simulated_trainee import SimulatedTrainee, answer_prompts

VOICES = ["--voices", "tin,wren", "--mix", "unassigned"]


def command(words: str, tmp_path: Path) -> list[str]:
    return [*words.split(), "--audio-to", str(tmp_path / "sounds"), *VOICES]


@pytest.fixture
def silent_machine() -> Iterator[None]:
    """Replace the recogniser that copies the same calls; monkeypatch.undo() does not undo this."""
    with pytest.MonkeyPatch.context() as patch:
        copy_without_sound(patch)
        yield


def test_a_measurement_shows_no_score_before_its_end(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answer_prompts(monkeypatch, SimulatedTrainee())
    assert main(command("measure --items 24 --seed 3", tmp_path)) == 0
    output = capsys.readouterr().out
    before, _, after = output.partition("This block:")
    for word in ("right", "wrong", "sent", "logged", "points", "x50"):
        assert word not in before.lower(), word
    assert re.search(r"x50  [+-]\d+\.\d dB \(95 %: ", after)
    assert "x80" in after
    assert "on a path where you copy half of the calls at 100 W" in after
    assert "of 24 copied, 1 block" in after
    assert re.search(r"recogniser own \w{12} was given the same 24 calls", after)
    # 5 items to warm up and 24 that count.
    assert "29 items, the first 5 to warm up: SNR set by your answers" in before
    assert "Item 29 of 29: call" in before


@pytest.mark.usefixtures("silent_machine")
def test_a_second_block_is_pooled_with_the_first_and_compared_with_it(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answer_prompts(monkeypatch, SimulatedTrainee())
    for seed in (1, 2):
        assert main(command(f"measure --items 24 --seed {seed}", tmp_path)) == 0
    output = capsys.readouterr().out
    assert "All 2 comparable blocks together:" in output
    assert "of 48 copied, 2 blocks" in output
    assert "can be due to chance: no change shown" in output
    assert "Item 24 of 24" in output  # the second block has no warm-up
    with Store(record_file()) as store:
        first, second = measurement_blocks(store)
    assert second.placement.prior != first.placement.prior


@pytest.mark.usefixtures("silent_machine")
def test_a_stopped_measurement_continues_as_if_it_had_not_stopped(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answer_prompts(monkeypatch, SimulatedTrainee(seed=4))
    assert main(command("measure --items 20 --seed 8", tmp_path)) == 0
    with Store(record_file()) as store:
        (whole,) = measurement_blocks(store)
    monkeypatch.undo()
    monkeypatch.setenv("FAINTCALL_HOME", str(tmp_path / "other"))
    trainee = SimulatedTrainee(seed=4)

    def interrupt_item_8(prompt: str, item: int) -> str | None:
        if item == 7:
            raise KeyboardInterrupt
        return None

    answer_prompts(monkeypatch, trainee, interrupt_item_8)
    assert main(command("measure --items 20 --seed 8", tmp_path)) == 0
    assert "Continue with: faintcall measure --continue" in capsys.readouterr().out
    monkeypatch.undo()
    monkeypatch.setenv("FAINTCALL_HOME", str(tmp_path / "other"))
    answer_prompts(monkeypatch, trainee)
    assert main(["measure", "--continue", "--audio-to", str(tmp_path / "sounds")]) == 0
    with Store(record_file()) as store:
        (again,) = measurement_blocks(store)
    assert again.trials == whole.trials
    assert main(["measure", "--continue", "--audio-to", str(tmp_path / "sounds")]) == 2
    assert "the last session is finished" in capsys.readouterr().err


@pytest.mark.usefixtures("silent_machine")
def test_there_is_no_replay_and_no_estimate_before_the_end(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = {12: ["n", "i"]}

    def type_lines_first(prompt: str, item: int) -> str | None:
        return lines[item].pop(0) if lines.get(item) else None

    answer_prompts(monkeypatch, SimulatedTrainee(), type_lines_first)
    assert main(command("measure --items 20 --seed 3", tmp_path)) == 0
    output = capsys.readouterr().out
    assert output.count("Items cannot be replayed in this session.") == 1
    assert output.count("\n13 of 25.\n") == 1
    assert "x50 so far" not in output
    with Store(record_file()) as store:
        (block,) = measurement_blocks(store)
    assert len(block.trials) == 20


@pytest.mark.usefixtures("silent_machine")
def test_a_quick_check_gives_a_character_threshold_and_no_block(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answer_prompts(monkeypatch, SimulatedTrainee())
    assert main(command("measure --quick --seed 3", tmp_path)) == 0
    output = capsys.readouterr().out
    assert "Item 30 of 30" in output
    found = re.search(r"character threshold ([+-]\d+\.\d) dB", output)
    assert found
    # Half of the characters at -7 dB with 50 % per dB on the logit: three quarters 2.2 dB higher.
    assert float(found[1]) == pytest.approx(-4.8, abs=1.5)
    assert "x50  " not in output
    with Store(record_file()) as store:
        assert measurement_blocks(store) == []


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("--snr 3", "'measurement' sets the SNR by your answers"),
        ("--watts 3", "'measurement' sets the SNR by your answers"),
        ("--quick --snr clean", "'quick-check' sets the SNR by your answers"),
        ("--quick --until 2", "'quick-check' does not take 'until_db'"),
        ("--part over", "part 'over' cannot be measured"),
        ("--until 99", "interval of x50 99 dB is out of range; allowed are 0.5 to 10 dB"),
        ("--continue", "no session to continue; start one with: faintcall measure"),
        (
            "--kind practice",
            "does not run sessions of the kind 'practice'; choose one of measurement, quick",
        ),
    ],
)
def test_a_wrong_option_is_refused_in_one_line(
    words: str, message: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["measure", *words.split(), "--audio-to", str(home / "out")]) == 2
    line = capsys.readouterr().err.strip()
    assert message in line
    assert "\n" not in line


@pytest.mark.parametrize(
    ("words", "name", "count"),
    [
        ([], "measurement", 65),
        (["--items", "24"], "measurement", 29),
        (["--quick"], "quick-check", 30),
        (["--quick", "--items", "60"], "quick-check", 60),
        (["--kind", "quick-check"], "quick-check", 30),
    ],
)
def test_the_number_of_items_is_the_requested_one_or_the_default_of_the_kind(
    words: Sequence[str], name: str, count: int, home: Path
) -> None:
    """The first measurement has 5 more items to warm up."""
    with Store(record_file()) as store:
        options = parser().parse_args(["measure", *words, *VOICES])
        kind = kind_from_options(options, registered_kinds("measure"), store)
    assert (kind.name, kind.count) == (name, count)
