"""Learning: stations are counted once, and no count stands for fewer than five."""

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from drill.callmix.contest_log import read_log
from drill.callmix.learn import MIN_COUNT, calls_in_text, count_shares, learn_mix
from phonetics.callsigns import parse_callsign
from tests.drill.callmix.invented_logs import cabrillo_text, invented_calls


def test_a_call_anywhere_in_the_log_is_excluded(tmp_path: Path) -> None:
    worked = invented_calls(60)
    shown = [parse_callsign(call).base for call in invented_calls(3, mix="africa", seed=8)]
    log = tmp_path / "own.log"
    extra = f"SOAPBOX: thanks {shown[0].lower()}-1\nX-QSO: {shown[1]}/9\nQTC: (x){shown[2]}/LH\n"
    log.write_text(cabrillo_text(worked) + extra)
    text = read_log(log).text
    learned = learn_mix("mine", worked, calls_in_text(text))
    assert all(learned.is_taken(call) for call in shown)


@given(st.integers(0, 2**32), st.integers(50, 400), st.sampled_from(["world", "asia", "oceania"]))
def test_every_count_represents_at_least_five_stations(seed: int, count: int, region: str) -> None:
    parsed = [
        parse_callsign(parse_callsign(call).base)
        for call in invented_calls(count, mix=region, seed=seed)
    ]
    shares = count_shares(parsed)
    assert all(share.stations >= MIN_COUNT for share in shares)
    stations = len({call.base for call in parsed})
    kept = sum(share.stations for share in shares)
    assert stations - MIN_COUNT < kept <= stations


def test_a_station_worked_on_many_bands_counts_once() -> None:
    worked = invented_calls(50)
    once = count_shares(parse_callsign(parse_callsign(call).base) for call in worked)
    often = count_shares(
        parse_callsign(parse_callsign(call).base) for call in worked + [worked[0]] * 40
    )
    assert once == often
