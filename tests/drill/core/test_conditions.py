"""Conditions check themselves, survive JSON, and lose one stage at a time."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from drill.core.conditions import (
    STAGES,
    Conditions,
    Fading,
    Neighbour,
    Noise,
    Receiver,
    Transmitter,
    Whistle,
    without_stage,
)
from drill.core.errors import UserError
from drill.core.structuring import from_data, to_data
from drill.radio.presets import load_preset, parse_fading, preset_names


@pytest.mark.parametrize("name", preset_names())
def test_conditions_survive_json(name: str) -> None:
    conditions = load_preset(name).conditions
    assert from_data(Conditions, json.loads(json.dumps(to_data(conditions)))) == conditions


def test_conditions_of_version_0_1_are_read() -> None:
    """Version 0.1 stored only SNR and fading."""
    old = {"snr_db": -3, "fading": {"name": "mid-quiet", "delay_ms": 0.5, "spread_hz": 0.1}}
    assert from_data(Conditions, old) == Conditions(snr_db=-3.0, fading=parse_fading("mid-quiet"))


@pytest.mark.parametrize(
    ("create", "message", "field"),
    [
        (
            lambda: Conditions(snr_db=99),
            "SNR 99 dB is out of range; allowed are -30 to 60 dB",
            "snr_db",
        ),
        (lambda: Conditions(snr_db=float("nan")), "SNR nan dB is out of range", "snr_db"),
        (lambda: Conditions(neighbours=(Neighbour(),) * 51), "neighbours 51 is out", "neighbours"),
        (lambda: Fading(delay_ms=-1), "delay -1 ms is out of range", "delay_ms"),
        (lambda: Fading(spread_hz=0.001), "0.001 Hz is too small; give 0, or 0.01 Hz", "spread_hz"),
        (lambda: Transmitter(processing="magic"), "'magic' is unknown; choose", "processing"),
        (lambda: Transmitter(off_frequency_hz=900), "off frequency 900 Hz", "off_frequency_hz"),
        (lambda: Receiver(width_hz=400, shift_hz=-1300), "allowed are 50 to 3350 Hz", "shift_hz"),
        (lambda: Receiver(agc="mad"), "AGC 'mad' is unknown; choose one of off", "agc"),
        (lambda: Whistle(pitch_hz=9), "pitch of the whistle 9 Hz", "pitch_hz"),
        (lambda: Noise(vd_db=1.0), "Vd 1 dB is out of range; allowed are 1.05 to 12", "vd_db"),
        (lambda: Neighbour(offset_hz=9000), "offset of the neighbour 9000 Hz", "offset_hz"),
    ],
)
def test_a_value_out_of_range_is_refused(
    create: Callable[[], Any], message: str, field: str
) -> None:
    with pytest.raises(UserError, match=message) as caught:
        create()
    assert caught.value.field == field
    assert caught.value.kind in ("out_of_range", "unknown")


@pytest.mark.parametrize(
    "create",
    [
        lambda: Conditions(snr_db=-30, neighbours=(Neighbour(),) * 50),
        lambda: Fading(spread_hz=0.01, delay_ms=20),
        lambda: Receiver(width_hz=3300, shift_hz=200),
        lambda: Noise(vd_db=1.05),
    ],
)
def test_the_limits_themselves_are_allowed(create: Callable[[], Any]) -> None:
    create()


def test_the_sentence_names_preset_snr_and_fading() -> None:
    fading = parse_fading("mid-quiet")
    assert Conditions(snr_db=3).sentence == "SNR 3 dB in 3 kHz, steady path"
    busy = Conditions(name="busy", snr_db=None, fading=fading)
    assert busy.sentence == "conditions busy, no noise, mid-quiet path"
    assert busy.sentence_without_snr == "conditions busy, mid-quiet path"
    assert Conditions(name="plain").sentence_without_snr == "steady path"


@pytest.mark.parametrize("stage", STAGES)
def test_a_removed_stage_is_gone_and_the_others_stay(stage: str) -> None:
    conditions = load_preset("busy-weekend").conditions
    reduced = to_data(without_stage(conditions, stage))
    changed = {name for name, part in to_data(conditions).items() if reduced[name] != part}
    part = {"noise": "snr_db", "interference": "noise", "filter": "receiver", "agc": "receiver"}
    assert changed <= {part.get(stage, "transmitter" if stage == "processing" else stage)}


def test_an_unknown_stage_is_refused() -> None:
    with pytest.raises(UserError, match="stage 'rain' is unknown; choose one of processing"):
        without_stage(Conditions(), "rain")
