"""Presets: the bundled ones, the user's own, and the messages about invalid files."""

import re
from pathlib import Path

import pytest

from drill.cli import main
from drill.core.conditions import Conditions, Fading, Neighbour
from drill.core.errors import UserError
from drill.radio.presets import (
    fading_names,
    load_preset,
    parse_fading,
    parse_receiver,
    part_description,
    preset_names,
    receiver_names,
)


@pytest.mark.parametrize("name", preset_names())
def test_a_shipped_preset_has_a_description_and_a_source(name: str) -> None:
    preset = load_preset(name)
    assert preset.conditions.name == name
    assert preset.description.endswith(".")
    assert preset.source.endswith(".")


def measured_differences_db() -> dict[str, float]:
    """Return how much harder each set is than plain, dB, from the table measured by machine."""
    table = (Path(__file__).parents[2] / "measured" / "conditions.md").read_text("utf-8")
    rows = re.findall(r"^\| `([\w-]+)` \|.* ([+-][\d.]+) \|$", table, re.MULTILINE)
    return {name: float(difference_db) for name, difference_db in rows}


@pytest.mark.parametrize("name", preset_names())
def test_a_shipped_preset_says_how_hard_it_is(name: str) -> None:
    """The description has the measured difference from plain, in whole decibels."""
    difference_db = round(measured_differences_db()[name])
    description = load_preset(name).description
    if name == "plain":
        assert difference_db == 0
    else:
        kind = "harder" if difference_db >= 0 else "easier"
        assert f"For the recogniser, about {abs(difference_db)} dB {kind} than plain" in description


def test_a_busy_weekend_can_be_worked() -> None:
    """The recogniser copies over half of the calls at +12 dB; under 40 % is too hard."""
    table = (Path(__file__).parents[2] / "measured" / "conditions.md").read_text("utf-8")
    row = next(line for line in table.splitlines() if line.startswith("| `busy-weekend`"))
    assert int(row.split("|")[6]) > 60
    strongest_db = max(each.snr_db for each in load_preset("busy-weekend").conditions.neighbours)
    assert strongest_db <= 20


def test_the_plain_preset_is_first_and_has_all_defaults() -> None:
    assert preset_names()[0] == "plain"
    assert load_preset("plain").conditions == Conditions(name="plain")


@pytest.mark.parametrize("name", [*fading_names(), *receiver_names()])
def test_a_part_has_a_description(name: str) -> None:
    assert part_description(name).endswith(".")


@pytest.mark.parametrize(
    ("text", "fading"),
    [
        ("1.5/0.7", Fading(name="1.5 ms, 0.7 Hz", delay_ms=1.5, spread_hz=0.7)),
        ("0/3", Fading(name="0 ms, 3 Hz", delay_ms=0, spread_hz=3)),
        ("flutter", Fading(name="flutter", delay_ms=0.5, spread_hz=10)),
        ("ccir-poor", Fading(name="ccir-poor", delay_ms=2, spread_hz=1)),
    ],
)
def test_fading_is_read_by_name_or_from_numbers(text: str, fading: Fading) -> None:
    assert parse_fading(text) == fading


@pytest.mark.parametrize(
    ("text", "width_hz", "shift_hz"),
    [("1800", 1800, 0), ("1800+200", 1800, 200), ("1800-150", 1800, -150), ("narrow", 2000, 0)],
)
def test_a_receiver_is_read_by_name_or_from_numbers(
    text: str, width_hz: float, shift_hz: float
) -> None:
    receiver = parse_receiver(text)
    assert (receiver.width_hz, receiver.shift_hz) == (width_hz, shift_hz)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("fog", "fading preset 'fog' is unknown; choose one of steady, low-quiet"),
        ("1/x", "fading '1/x' is not valid; give a name, or delay in ms and Doppler spread"),
        ("1/", "fading '1/' is not valid"),
        ("99/1", "delay 99 ms is out of range"),
    ],
)
def test_wrong_fading_is_rejected(text: str, message: str) -> None:
    with pytest.raises(UserError, match=message):
        parse_fading(text)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("fog", "receiver preset 'fog' is unknown; choose one of usual, wide"),
        ("18x", "filter '18x' is not valid; give a name, or width and shift in Hz"),
        ("1800+", r"filter '1800\+' is not valid"),
        ("4000", "filter width 4000 Hz is out of range"),
    ],
)
def test_a_wrong_receiver_is_rejected(text: str, message: str) -> None:
    with pytest.raises(UserError, match=message):
        parse_receiver(text)


WRONG_FILES = {
    'says = "x."\nsnr = 3': "unknown entry 'snr'; allowed are name, snr_db",
    'says = "x."\nsnr_db = "loud"': "snr_db has to be a number or null, not 'loud'",
    'says = "x."\n[receiver]\nwidth_hz = "wide"': "receiver.width_hz has to be a number",
    'says = "x."\n[receiver]\nbreadth = 3': "unknown entry 'receiver.breadth'; allowed are width",
    'says = "x."\n[[neighbours]]\noffset_hz = true': "neighbours[0].offset_hz has to be a number",
    'says = "x."\nneighbours = 3': "neighbours has to be a list, not 3",
    'says = "x."\nneighbours = [3]': "neighbours[0] has to be a table, not 3",
    'says = "x."\n[noise]\nvd_db = 40': "Vd 40 dB is out of range; allowed are 1.05 to 12",
    'says = "x."\nfading = "fog"': "fading preset 'fog' is unknown; choose one of steady",
    'says = "x."\nreceiver = "fog"': "receiver preset 'fog' is unknown; choose one of usual",
    "snr_db = 3": "says is missing; add one sentence",
    "says = ": "Invalid value",
}


def user_preset(home: Path, name: str, text: str) -> Path:
    """Write a preset into the user's folder; return the folder."""
    folder = home / "data" / "conditions"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{name}.toml").write_text(text, "utf-8")
    return folder


@pytest.mark.parametrize("text", WRONG_FILES)
def test_a_wrong_preset_ends_in_one_line_that_names_the_file(
    text: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    user_preset(home, "mine", text)
    assert main(["listen", "--conditions", "mine", "--audio-to", str(home / "out")]) == 2
    line = capsys.readouterr().err.strip()
    assert WRONG_FILES[text] in line
    assert "mine.toml" in line
    assert "\n" not in line


def test_a_users_preset_is_found_and_can_replace_a_shipped_one(home: Path) -> None:
    text = 'says = "Mine."\nsnr_db = 4\nfading = "1/2"\n[[neighbours]]\nfading = "flutter"\n'
    folder = user_preset(home, "mine", text)
    user_preset(home, "aurora", text)
    conditions = load_preset("mine", folder).conditions
    assert conditions.snr_db == 4.0
    assert conditions.fading == parse_fading("1/2")
    assert conditions.neighbours == (Neighbour(fading=parse_fading("flutter")),)
    assert load_preset("aurora", folder).description == "Mine."
    assert load_preset("aurora").description != "Mine."
    assert "mine" in preset_names(folder)


def test_an_unknown_preset_lists_the_known_ones() -> None:
    with pytest.raises(UserError, match="conditions preset 'fog' is unknown; choose one of plain"):
        load_preset("fog")
