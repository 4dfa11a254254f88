"""The link budget: what follows from what, and what is printed."""

import argparse
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.cli.commands import budget as command
from drill.core.errors import UserError
from drill.linkbudget.budget import (
    Circuit,
    Station,
    budget,
    grade,
    path_snr_from_s,
    radiation_ohm,
    reception_cost_db,
    s_dbm,
    watts_to_snr,
)
from drill.linkbudget.noise_levels import CATEGORIES, Noise, combine, external, galactic, man_made

FREQUENCIES = st.floats(0.3, 30)
LOSSES = st.floats(0, 60)
STATIONS = st.builds(
    Station,
    watts=st.floats(0.001, 1000),
    antenna_db=st.floats(-40, 40),
    short_db=LOSSES,
    line_db=LOSSES,
    category=st.sampled_from(sorted(CATEGORIES)),
    atmospheric_db=st.none() | st.floats(-40, 120),
)
CIRCUITS = st.builds(
    Circuit,
    here=STATIONS,
    there=STATIONS,
    frequency_mhz=FREQUENCIES,
    path_snr_db=st.floats(-60, 90),
)


def run(words: str) -> int:
    parser = argparse.ArgumentParser()
    command.add(parser)
    return int(command.run(parser.parse_args(words.split())))


@given(CIRCUITS)
def test_twice_the_power_is_3_db_there_and_nothing_here(circuit: Circuit) -> None:
    louder = replace(circuit, here=replace(circuit.here, watts=2 * circuit.here.watts))
    before, after = budget(circuit), budget(louder)
    assert after.mine_there.snr_db - before.mine_there.snr_db == pytest.approx(3.0103, abs=1e-4)
    assert after.theirs_here == before.theirs_here


@given(CIRCUITS)
def test_equal_stations_hear_each_other_equally(circuit: Circuit) -> None:
    both = budget(replace(circuit, here=circuit.there))
    assert both.mine_there == both.theirs_here


@given(FREQUENCIES, st.floats(-60, 90), st.sampled_from(sorted(CATEGORIES)))
def test_reference_stations_give_the_figure_of_the_path(
    frequency_mhz: float, path_snr_db: float, there: str
) -> None:
    circuit = Circuit(
        here=Station(category="city"),
        there=Station(category=there),
        frequency_mhz=frequency_mhz,
        path_snr_db=path_snr_db,
    )
    assert budget(circuit).mine_there.snr_db == pytest.approx(path_snr_db)


@given(CIRCUITS, st.floats(0.1, 10))
def test_an_antenna_counts_in_both_directions(circuit: Circuit, more_db: float) -> None:
    here = replace(circuit.here, antenna_db=circuit.here.antenna_db / 2)
    before = budget(replace(circuit, here=here))
    better = replace(here, antenna_db=here.antenna_db + more_db)
    after = budget(replace(circuit, here=better))
    assert after.mine_there.snr_db - before.mine_there.snr_db == pytest.approx(more_db)
    assert after.theirs_here.snr_db - before.theirs_here.snr_db == pytest.approx(more_db)


@given(CIRCUITS, st.floats(0.1, 20))
def test_a_loss_costs_all_in_transmission_and_at_most_that_in_reception(
    circuit: Circuit, loss_db: float
) -> None:
    without = replace(circuit.here, line_db=0)
    before = budget(replace(circuit, here=without))
    after = budget(replace(circuit, here=replace(without, line_db=loss_db)))
    assert before.mine_there.snr_db - after.mine_there.snr_db == pytest.approx(loss_db)
    # A receiver factor fr behind a loss lt: fa - 1 + lt fr is at most lt (fa - 1 + fr) if fa >= 1.
    if external(without.category, circuit.frequency_mhz, without.atmospheric_db).median_db >= 0:
        cost_db = before.theirs_here.snr_db - after.theirs_here.snr_db
        assert 0 < cost_db <= loss_db + 1e-9 or cost_db == pytest.approx(0, abs=1e-6)


def test_a_lossy_antenna_is_cheap_to_hear_with_while_external_noise_rules() -> None:
    lossy = Station(category="city", short_db=10)
    assert 0 < reception_cost_db(lossy, 3.5) < 0.1
    assert reception_cost_db(replace(lossy, category="quiet-rural"), 28) > 3


def test_a_quiet_place_hears_better_than_it_is_heard() -> None:
    circuit = Circuit(
        here=Station(category="quiet-rural"),
        there=Station(category="residential"),
        frequency_mhz=7,
        path_snr_db=10,
    )
    both = budget(circuit)
    assert both.theirs_here.snr_db > both.mine_there.snr_db + 10


@given(FREQUENCIES, st.floats(-40, 120))
def test_noise_added_is_never_less(frequency_mhz: float, atmospheric_db: float) -> None:
    parts = [Noise(median_db=atmospheric_db), Noise(median_db=galactic(frequency_mhz).median_db)]
    total = combine(parts)
    assert total.median_db >= max(part.median_db for part in parts) - 1e-9
    assert combine(parts[::-1]).median_db == pytest.approx(total.median_db)


@given(st.sampled_from(sorted(CATEGORIES)), FREQUENCIES)
def test_one_noise_alone_is_itself(category: str, frequency_mhz: float) -> None:
    alone = man_made(category, frequency_mhz)
    assert combine([alone]).median_db == pytest.approx(alone.median_db)
    assert combine([alone]).upper_db == pytest.approx(alone.upper_db)
    assert combine([alone]).lower_db == pytest.approx(alone.lower_db)


def test_atmospheric_noise_is_heard_only_where_given() -> None:
    assert external("rural", 3.5, 90).median_db == pytest.approx(90, abs=0.01)
    assert external("rural", 3.5, 90).median_db > external("rural", 3.5).median_db + 30


@given(st.floats(30, 90), st.floats(0, 20))
def test_grades_rise_and_fading_is_never_better(dbhz: float, more: float) -> None:
    order = ("below usable", "just usable", "marginally commercial", "good commercial")
    steady, fading = (order.index(grade(dbhz, fading=fades)) for fades in (False, True))
    assert fading <= steady <= order.index(grade(dbhz + more, fading=False))


def test_readings_over_s9_and_with_a_letter() -> None:
    assert s_dbm("9+20") == s_dbm("9") + 20
    assert s_dbm("S6.5") == (s_dbm("6") + s_dbm("7")) / 2
    louder, softer = (path_snr_from_s(s, Station(), 14.2) for s in ("S8", "S7"))
    assert louder - softer == pytest.approx(6)


@pytest.mark.parametrize("reading", ["", "10", "9.5", "-1", "9+", "9+61", "9+-3", "5+10", "loud"])
def test_what_is_no_s_reading(reading: str) -> None:
    with pytest.raises(UserError, match="no S reading"):
        s_dbm(reading)


@pytest.mark.parametrize("watts", [0, -5, 2001, 0.0009, float("nan"), float("inf")])
def test_watts_out_of_range(watts: float) -> None:
    with pytest.raises(UserError, match=r"W is out of range; give 0\.001 to 2000 W"):
        watts_to_snr(0, watts)


@pytest.mark.parametrize("length_m", [0, -1, 3, float("nan")])
def test_antennas_that_the_formula_does_not_hold_for(length_m: float) -> None:
    with pytest.raises(UserError, match=r"at most 2\.64 m"):
        radiation_ohm(length_m, 14.2)


def test_a_shorter_wire_loses_more(capsys: pytest.CaptureFixture[str]) -> None:
    losses = []
    for length_m in (2, 1):
        assert run(f"--wire-length {length_m}") == 0
        line = next(s for s in capsys.readouterr().out.splitlines() if s.startswith("Here:"))
        losses.append(float(line.split("shortening ")[1].split()[0]))
    assert losses[1] > losses[0] + 3


def test_the_printed_tables(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--watts 10 --path-snr 12 --line-length 50 --line-loss 4") == 0
    out = capsys.readouterr().out
    lines = out.splitlines()
    mine = next(line for line in lines if line.startswith("my signal there"))
    # 12 dB, 10 dB less power, 2 dB of line; 34.8 dB of bandwidth and 12.6 dB to the PEP.
    assert " ".join(mine.split()) == "my signal there 10 +0.0 47.4 just usable below usable"
    assert any(line.startswith("their signal here       100 ") for line in lines)
    start = next(n for n, line in enumerate(lines) if "re 100 W" in line)
    rows = [line.split()[:5] for line in lines[start + 1 : start + 5]]
    assert rows == [
        ["+0.0", "dB", "100", "+10.0", "57.4"],
        ["-7.0", "dB", "20", "+3.0", "50.4"],
        ["-10.0", "dB", "10", "+0.0", "47.4"],
        ["-13.0", "dB", "5", "-3.0", "44.4"],
    ]
    columns = {line.index("F.339 grade, steady") for line in lines if "grade, steady" in line}
    assert all("usable" in mine[column:] for column in columns)
    assert "shortening 0.0 dB, line 2.0 dB" in out
    assert "plans no actual circuit" in lines[-2]
    assert "licence" in lines[-1]
    assert max(map(len, lines)) <= 100


def test_an_s_reading_gives_the_path(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--path-s 9+10 --there rural") == 0
    expected = path_snr_from_s("9+10", Station(category="rural"), 14.2)
    assert f"give {expected:+.1f} dB there" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("--watts 0", "0 W is out of range; give 0.001 to 2000"),
        ("--far-watts 5000", "5000 W"),
        ("--frequency 144", "144 MHz is out of range; give 0.3 to 30"),
        ("--frequency nan", "nan MHz"),
        ("--path-snr inf", "inf dB"),
        ("--path-s 12", "'12' is no S reading"),
        ("--antenna 99", "99 dB is out of range; give -40 to 40"),
        ("--short -1", "-1 dB"),
        ("--line nan", "nan dB"),
        ("--short 3 --wire-length 1", "--short and --wire-length"),
        ("--wire-length 9", "at most 2.64 m"),
        ("--wire-length 1 --loss-ohms -1", "-1 ohm"),
        ("--line-length 20", "--line-loss"),
        ("--line-loss 3", "--line-length"),
        ("--line 1 --line-length 20 --line-loss 3", "--line-length"),
        ("--line-length 2000 --line-loss 3", "2000 m"),
        ("--here moon", "city, residential, rural, quiet-rural"),
        ("--atmospheric 500", "500 dB"),
    ],
)
def test_bad_input_is_told_in_one_line(words: str, told: str) -> None:
    with pytest.raises(UserError) as caught:
        run(words)
    assert told in str(caught.value)
    assert "\n" not in str(caught.value)
