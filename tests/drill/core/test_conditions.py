"""Conditions as data: presets, TOML, what is refused and how."""

import json
from dataclasses import asdict
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.cli import main
from drill.core.conditions import (
    Conditions,
    Fading,
    Neighbour,
    Noise,
    Receiver,
    Transmitter,
    Whistle,
)
from drill.core.errors import UserError
from drill.core.structuring import from_data, to_data
from drill.items.plan import Plan, compose_item, conditions_from_plan_data
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
def test_every_preset_says_what_one_hears_and_whence(name: str) -> None:
    found = load_preset(name)
    assert found.conditions.name == name
    assert found.description.endswith(".")
    assert found.source.endswith(".")


def test_plain_is_what_nothing_asked_for_gives() -> None:
    assert preset_names()[0] == "plain"
    assert load_preset("plain").conditions == Conditions(name="plain")


@pytest.mark.parametrize("name", [*fading_names(), *receiver_names()])
def test_every_part_says_what_one_hears(name: str) -> None:
    assert part_description(name).endswith(".")


@pytest.mark.parametrize("name", preset_names())
def test_conditions_survive_json(name: str) -> None:
    wanted = load_preset(name).conditions
    assert from_data(Conditions, json.loads(json.dumps(asdict(wanted)))) == wanted


def test_conditions_of_the_first_version_are_read() -> None:
    """Version 0.1 kept SNR and fading alone, in an item and in a plan."""
    old = {"snr_db": -3, "fading": {"name": "mid-quiet", "delay_ms": 0.5, "spread_hz": 0.1}}
    assert from_data(Conditions, old) == Conditions(snr_db=-3.0, fading=parse_fading("mid-quiet"))
    plan = {"snr_db": None, "fading": "high-moderate"}
    assert conditions_from_plan_data(plan) == Conditions(snr_db=None, fading=parse_fading("high-moderate"))


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("1.5/0.7", Fading(name="1.5 ms, 0.7 Hz", delay_ms=1.5, spread_hz=0.7)),
        ("0/3", Fading(name="0 ms, 3 Hz", delay_ms=0, spread_hz=3)),
        ("flutter", Fading(name="flutter", delay_ms=0.5, spread_hz=10)),
        ("ccir-poor", Fading(name="ccir-poor", delay_ms=2, spread_hz=1)),
    ],
)
def test_fading_by_name_or_by_figures(text: str, wanted: Fading) -> None:
    assert parse_fading(text) == wanted


@pytest.mark.parametrize(
    ("text", "width_hz", "shift_hz"),
    [("1800", 1800, 0), ("1800+200", 1800, 200), ("1800-150", 1800, -150), ("narrow", 2000, 0)],
)
def test_receiver_by_name_or_by_figures(text: str, width_hz: float, shift_hz: float) -> None:
    found = parse_receiver(text)
    assert (found.width_hz, found.shift_hz) == (width_hz, shift_hz)


BAD = {
    'says = "x."\nsnr = 3': "unknown entry 'snr'; allowed are name, snr_db",
    'says = "x."\nsnr_db = "loud"': "snr_db has to be a number or null, not 'loud'",
    'says = "x."\n[receiver]\nwidth_hz = "wide"': "receiver.width_hz has to be a number, not 'wide'",
    'says = "x."\n[receiver]\nbreadth = 3': "unknown entry 'receiver.breadth'; allowed are width_hz",
    'says = "x."\n[[neighbours]]\noffset_hz = true': "neighbours[0].offset_hz has to be a number, not true",
    'says = "x."\nneighbours = 3': "neighbours has to be a list, not 3",
    'says = "x."\nneighbours = [3]': "neighbours[0] has to be a table, not 3",
    'says = "x."\n[noise]\nvd_db = 40': "Vd 40 dB is out of range; allowed are 1.05 to 12",
    'says = "x."\nfading = "fog"': "fading preset 'fog' is unknown; choose one of steady",
    'says = "x."\nreceiver = "fog"': "receiver preset 'fog' is unknown; choose one of usual",
    "snr_db = 3": "says is missing",
    "says = ": "Invalid value",
}


@pytest.mark.parametrize("text", BAD)
def test_a_preset_that_is_wrong_is_refused_in_a_line(
    text: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = home / "data" / "conditions"
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text(text, "utf-8")
    assert main(["listen", "--conditions", "mine", "--audio-to", str(home / "out")]) == 2
    line = capsys.readouterr().err.strip()
    assert BAD[text] in line
    assert "mine.toml" in line
    assert "\n" not in line


def test_a_users_preset_is_found_and_may_replace_one(home: Path) -> None:
    folder = home / "data" / "conditions"
    folder.mkdir(parents=True)
    text = 'says = "Mine."\nsnr_db = 4\nfading = "1/2"\n[[neighbours]]\nfading = "flutter"\n'
    (folder / "mine.toml").write_text(text, "utf-8")
    (folder / "aurora.toml").write_text(text, "utf-8")
    found = load_preset("mine", folder).conditions
    assert found.snr_db == 4.0
    assert found.fading == parse_fading("1/2")
    assert found.neighbours == (Neighbour(fading=parse_fading("flutter")),)
    assert load_preset("aurora", folder).description == "Mine."
    assert load_preset("aurora").description != "Mine."
    assert "mine" in preset_names(folder)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Conditions(snr_db=99), "SNR 99 is out of range|SNR 99 dB"),
        (lambda: Fading(delay_ms=-1), "delay -1 ms"),
        (lambda: Fading(spread_hz=0.001), "0.001 Hz: give 0"),
        (lambda: Transmitter(processing="magic"), "'magic' is unknown; choose one of none"),
        (lambda: Transmitter(off_frequency_hz=900), "off frequency 900 Hz"),
        (lambda: Receiver(width_hz=400, shift_hz=-1300), "allowed are 50 to 3350 Hz"),
        (lambda: Receiver(agc="mad"), "AGC 'mad'"),
        (lambda: Whistle(pitch_hz=9), "pitch of the whistle 9 Hz"),
        (lambda: Noise(vd_db=1.0), "Vd 1 dB"),
        (lambda: Neighbour(offset_hz=9000), "offset of the neighbour 9000 Hz"),
        (lambda: Conditions(neighbours=(Neighbour(),) * 51), "number of neighbours 51"),
        (lambda: Conditions(snr_db=float("nan")), "SNR nan"),
    ],
)
def test_what_cannot_be_is_refused(make: object, message: str) -> None:
    with pytest.raises(UserError, match=message):
        make()  # type: ignore[operator]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("--conditions fog", "conditions preset 'fog' is unknown; choose one of plain"),
        ("--snr 3 --watts 5", "--snr and --watts"),
        ("--path-snr 3", "--path-snr goes with --watts"),
        ("--watts 0", "0 W is out of range"),
        ("--watts 5 --path-snr 90", "SNR 76.99 dB is out of range"),
        ("--filter 4000", "filter width 4000 Hz"),
        ("--filter 18x", "filter '18x' is not valid"),
        ("--fading 1/x", "fading '1/x' is not valid"),
        ("--processing magic", "'magic' is unknown"),
        ("--off-frequency 900", "off frequency 900 Hz"),
        ("--static 1", "Vd 1 dB"),
        ("--without fog", "no stage 'fog'"),
    ],
)
def test_options_that_cannot_be_are_refused_in_a_line(
    words: str, told: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["listen", "--audio-to", str(home / "out"), *words.split()]) == 2
    line = capsys.readouterr().err.strip()
    assert told in line
    assert "\n" not in line


@given(watts=st.floats(0.1, 1500), path=st.floats(-10, 30))
def test_watts_are_what_their_decibels_are(watts: float, path: float) -> None:
    from math import log10

    from drill.cli import parser
    from drill.cli.options import choices_from
    from drill.session.options import conditions_of

    words = f"copy --watts {watts!r} --path-snr={path!r}"
    wanted = path + 10 * log10(watts / 100)
    if -30 <= wanted <= 60:
        found = conditions_of(choices_from(parser().parse_args(words.split())))
        assert found.snr_db == pytest.approx(wanted, abs=0.006)


def test_an_item_holds_what_its_neighbours_say() -> None:
    plan = Plan(seed=3, count=2, conditions=load_preset("busy-weekend").conditions, mix="unassigned")
    item = compose_item(plan, 0)
    assert len(item.neighbours) == 3
    calls = {item.message.call, *(speech.message.call for speech in item.neighbours)}
    assert len(calls) == 4
    assert from_data(type(item), json.loads(json.dumps(to_data(item)))) == item
    assert Plan.from_dict(json.loads(json.dumps(plan.to_dict()))) == plan
