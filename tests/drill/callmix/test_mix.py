"""A mix learned from a log: its statistics are kept, none of its calls is kept or ever played."""

import argparse
import json
import re
from collections import Counter
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drill.callmix import contest_log
from drill.callmix import learn as learning
from drill.callmix import mix as mixes
from drill.callmix.mix import FULLEST, LearnedMix, mix_from_dict
from drill.cli.commands import learn_mix as learn
from drill.core.errors import UserError
from drill.items.plan import Plan, compose_item
from phonetics.callsigns import MIXES, is_valid, parse
from phonetics.callsigns import compose as compose_call

HEAD = "START-OF-LOG: 3.0\n"


def calls(count: int, *, mix: str = "europe", seed: int = 1) -> list[str]:
    """Return composed calls that stand for those of a log."""
    rng = Random(seed)
    return [compose_call(rng, mix=mix).text for _ in range(count)]


def own_call() -> str:
    return compose_call(Random(99), strokes=0).text


def cabrillo(worked: list[str], exchange: str = "59 {n}") -> str:
    """Return an invented log; {n} is a serial number."""
    lines = [
        f"QSO: 14250 PH 2026-03-01 {n // 60 % 24:02d}{n % 60:02d} {own_call()} 59 {n + 1} "
        f"{call} {exchange.format(n=3 * n + 1)}"
        for n, call in enumerate(worked)
    ]
    return HEAD + "\n".join(lines) + "\nEND-OF-LOG:\n"


def adif(records: list[dict[str, str]]) -> str:
    """Return an invented ADI file."""
    body = (
        "".join(f"<{name}:{len(value)}>{value} " for name, value in record.items()) + "<EOR>\n"
        for record in records
    )
    return "invented\n<ADIF_VER:5>3.1.6 <EOH>\n" + "".join(body)


def learn_mix(*words: object) -> int:
    parser = argparse.ArgumentParser()
    learn.add(parser)
    return int(learn.run(parser.parse_args([str(word) for word in words])))


@pytest.fixture(scope="module")
def worked() -> list[str]:
    return calls(900)


@pytest.fixture(scope="module")
def mix(worked: list[str]) -> LearnedMix:
    return learning.learn("mine", worked, learning.calls_in(cabrillo(worked)))


# --- nothing of a station is kept


def test_no_call_of_the_log_is_kept(worked: list[str], home: Path, tmp_path: Path) -> None:
    log = tmp_path / "own.log"
    log.write_text(cabrillo(worked))
    assert learn_mix(log, "--name", "mine") == 0
    (path,) = (home / "data" / "mixes").iterdir()
    kept = path.read_text("utf-8") + json.dumps(
        Plan(seed=1, mix="mine", learned=mixes.find("mine")).to_dict()
    )
    runs = set(re.findall("[A-Za-z0-9/]+", kept))
    for call in (*worked, own_call()):
        assert not runs & {call, parse(call).base}
    assert str(log) not in kept


def test_no_call_of_the_log_is_ever_played(worked: list[str], mix: LearnedMix) -> None:
    rng = Random(5)
    bases = {parse(call).base for call in (*worked, own_call())}
    assert all(mix.is_taken(base) for base in bases)
    for _ in range(4000):
        call = compose_call(rng, mix=mix, strokes=0.3)
        assert call.base not in bases
        assert is_valid(call.text)


def test_wherever_a_call_stands_in_a_log_it_is_never_played(tmp_path: Path) -> None:
    worked = calls(60)
    shown = [parse(call).base for call in calls(3, mix="africa", seed=8)]
    log = tmp_path / "own.log"
    extra = f"SOAPBOX: thanks {shown[0].lower()}-1\nX-QSO: {shown[1]}/9\nQTC: (x){shown[2]}/LH\n"
    log.write_text(cabrillo(worked) + extra)
    text = contest_log.read(log).text
    learned = learning.learn("mine", worked, learning.calls_in(text))
    assert all(learned.is_taken(call) for call in shown)


def test_every_second_other_call_fits_the_table_too(mix: LearnedMix) -> None:
    rng = Random(6)
    fits = sum(mix.is_taken(compose_call(rng, mix="asia").base) for _ in range(2000)) / 2000
    assert 0.4 < fits < FULLEST + 0.05


@given(st.sets(st.text("ABCDEFG123", min_size=3, max_size=6), min_size=50, max_size=400))
def test_the_table_holds_all_and_is_half_to_four_fifths_full(bases: set[str]) -> None:
    salt, taken = learning.table_of(bases)
    table = bytes.fromhex(taken)
    assert all(
        table[at >> 3] >> (at & 7) & 1
        for at in (mixes.place_in(table, bytes.fromhex(salt), base) for base in bases)
    )
    assert 0.35 < mixes.filled(table) <= FULLEST


@settings(deadline=None)
@given(st.integers(0, 2**32), st.integers(50, 400), st.sampled_from(["world", "asia", "oceania"]))
def test_no_count_stands_for_fewer_than_a_few(seed: int, count: int, region: str) -> None:
    parsed = [parse(parse(call).base) for call in calls(count, mix=region, seed=seed)]
    shares = learning.shares_of(parsed)
    assert all(share.stations >= learning.FEW for share in shares)
    stations = len({call.base for call in parsed})
    kept = sum(share.stations for share in shares)
    assert stations - learning.FEW < kept <= stations


def test_a_station_worked_on_many_bands_counts_once() -> None:
    worked = calls(50)
    once = learning.shares_of(parse(parse(call).base) for call in worked)
    often = learning.shares_of(parse(parse(call).base) for call in worked + [worked[0]] * 40)
    assert once == often


# --- what it composes


def test_prefixes_come_as_often_as_in_the_log(worked: list[str], mix: LearnedMix) -> None:
    rng = Random(7)
    drawn = Counter(compose_call(rng, mix=mix, strokes=0).holder for _ in range(6000))
    heard = Counter(parse(base).holder for base in {parse(call).base for call in worked})
    for holder, count in heard.most_common(6):
        assert drawn[holder] / 6000 == pytest.approx(count / heard.total(), abs=0.03), holder


def test_a_plan_gives_the_same_items_when_the_file_is_gone(
    worked: list[str], mix: LearnedMix, home: Path
) -> None:
    path = mixes.save(mix, {}, force=False)
    found = mixes.find("mine")
    plan = Plan(seed=3, mix="mine", learned=found, part="over")
    items = [compose_item(plan, number) for number in range(8)]
    path.unlink()
    again = Plan.from_dict(json.loads(json.dumps(plan.to_dict())))
    assert again == plan
    assert [compose_item(again, number) for number in range(8)] == items
    assert found == mix


def test_a_plan_of_before_own_mixes_is_read() -> None:
    data = Plan(seed=3).to_dict()
    del data["learned"]
    assert Plan.from_dict(data) == Plan(seed=3)


def test_the_name_in_the_plan_is_that_of_the_mix(mix: LearnedMix) -> None:
    for name in ("world", "other"):
        with pytest.raises(UserError, match=f"'{name}' is unknown; choose one of mine"):
            Plan(seed=1, mix=name, learned=mix)


# --- files and names


def test_names_and_files(mix: LearnedMix, home: Path) -> None:
    assert mixes.names() == ()
    mixes.save(mix, {"report": 900, "zone-itu": 880}, force=False)
    assert mixes.names() == ("mine",)
    assert mixes.find("world") is None
    with pytest.raises(UserError, match="--force"):
        mixes.save(mix, {}, force=False)
    mixes.save(mix, {}, force=True)
    with pytest.raises(UserError, match=r"'other' is unknown; choose one of world, .*, mine"):
        mixes.find("other")


@pytest.mark.parametrize("name", ["", "Mine", "../mine", "a b", "world", "x" * 40])
def test_bad_names_are_refused(name: str, tmp_path: Path, home: Path) -> None:
    with pytest.raises(UserError, match="cannot be the name"):
        learn_mix(tmp_path / "none.adi", "--name", name)
    if name not in MIXES:
        with pytest.raises(UserError, match="unknown"):
            mixes.find(name)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("schema = 1", "schema = 2", "learn it again"),
        ("schema = 1", "schema = ", "cannot be read"),
        ('salt = "', 'salt = "xyz', "hexadecimal"),
        ('salt = "', 'salt = "00', "another length"),
        ('taken = "', 'taken = "00', "another length"),
        ("stations = ", 'stations = "', "cannot be read"),
        ("stations = ", "stations = -", "no calls can be composed"),
        ('prefix = "', 'prefix = "#', "no calls can be composed"),
        ('region = "europe"', 'region = "moon"', "no calls can be composed"),
        ("[[share]]", "[[part]]", "right form"),
    ],
)
def test_a_damaged_mix_is_told_in_one_line(
    old: str, new: str, told: str, mix: LearnedMix, home: Path
) -> None:
    path = mixes.save(mix, {}, force=False)
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(UserError, match=told) as caught:
        mixes.find("mine")
    assert "\n" not in str(caught.value)


def test_a_table_that_leaves_nothing_is_refused(mix: LearnedMix) -> None:
    data = {"name": "mine", "shares": [{"stations": 9, "region": "world"}], "salt": mix.salt}
    with pytest.raises(UserError, match="hardly a call"):
        mix_from_dict({**data, "taken": "ff"})


# --- logs


def test_too_few_stations_are_refused(tmp_path: Path, home: Path) -> None:
    log = tmp_path / "own.log"
    log.write_text(cabrillo(calls(20) * 9))
    with pytest.raises(UserError, match="different stations"):
        learn_mix(log, "--name", "mine")
    assert mixes.names() == ()


@pytest.mark.parametrize(
    ("exchange", "kinds", "named"),
    [
        ("59 {n}", {"report", "serial"}, "serial"),
        ("59 KO85", {"report", "locator"}, "locator"),
        ("59 400", {"report", "power"}, "power"),
        ("59 BX", {"report", "area"}, "area"),
        ("SUSANNA BX", {"name", "area"}, "name-area"),
        ("59 44", {"report", "number"}, ""),
    ],
)
@pytest.mark.usefixtures("home")
def test_kinds_of_exchange_are_told(
    exchange: str,
    kinds: set[str],
    named: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    log = tmp_path / "own.log"
    log.write_text(cabrillo(calls(80), exchange))
    learn_mix(log, "--name", "mine")
    told = capsys.readouterr().out
    assert set(contest_log.kinds_of(contest_log.read(log).contacts)) == kinds
    assert (f"Exchanges like it: {named}." in told) == bool(named)


@pytest.mark.parametrize("kind", ["zone-itu", "zone-amateur"])
def test_a_column_of_zones_is_told_by_the_calls(kind: str) -> None:
    contacts = []
    for call in calls(80, mix="world"):
        place = parse(call).place
        zone = place.itu_zone if kind == "zone-itu" else place.amateur_zone
        contacts.append(contest_log.Contact(call=call, pieces=("59", f"{zone:02d}")))
    assert contest_log.kinds_of(contacts) == {"report": 80, kind: 80}


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("a.adi", "", "neither"),
        ("a.adi", "hello", "neither"),
        ("a.adi", "head <call:5>E8ABC <eor>", "header"),
        ("a.adi", "<call:5>E8ABC <band:3>40m <eor> <call:5>E8ABD <band:3>40m", "record 2.*cut off"),
        ("a.adi", "<call:5>E8ABC <eor>\n<call:5>E8ABD <CALL:5>E8ABD <eor>", "record 2.*Duplic"),
        ("a.adi", "<call:5>E8ABC <CALL:5>E8ABD <eor>", "record 1.*Duplic"),
        ("a.adi", "<band:3>40m <eor>", "record 1: it has no CALL"),
        ("a.log", HEAD, "no contacts"),
        ("a.log", HEAD + "QSO: 14250 PH", "line 2"),
        ("a.log", HEAD + "QSO: 1 PH 2026-13-01 0000 E8ABC 59 1 E8ABD 59 1", "line 2.*date"),
        ("a.log", HEAD + "QSO: 1 PH 2026-12-01 0000 E8ABC 59 1 E8ABD 59 1 7", "line 2.*uneven"),
    ],
)
def test_a_bad_log_is_told_in_one_line(name: str, text: str, told: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_text(text)
    with pytest.raises(UserError, match=told) as caught:
        contest_log.read(path)
    assert "\n" not in str(caught.value)
    assert "E8AB" not in str(caught.value)


def test_a_missing_log_is_told(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="cannot be read"):
        contest_log.read(tmp_path / "none.adi")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(start=st.sampled_from([HEAD + "QSO: ", "<eor>", "x<eoh>", HEAD]), text=st.text(max_size=200))
def test_any_text_is_read_or_refused(start: str, text: str, tmp_path: Path) -> None:
    path = tmp_path / "any.log"
    for whole in (start + text, text + start):
        path.write_text(whole, encoding="utf-8")
        try:
            log = contest_log.read(path)
        except UserError:
            continue
        contest_log.kinds_of(log.contacts)
        learning.calls_in(log.text)


def test_adif_gives_the_same_mix_as_cabrillo(worked: list[str], tmp_path: Path, home: Path) -> None:
    records = [
        {"CALL": call, "RST_RCVD": "59", "SRX": str(n), "SRX_STRING": f"{n:03d}", "CQZ": "14"}
        for n, call in enumerate(worked, 1)
    ]
    (tmp_path / "a.adi").write_text(adif(records))
    (tmp_path / "a.log").write_text(cabrillo(worked))
    learn_mix(tmp_path / "a.adi", "--name", "first")
    learn_mix(tmp_path / "a.log", "--name", "second")
    first, second = mixes.find("first"), mixes.find("second")
    assert first is not None
    assert second is not None
    assert first.shares == second.shares
    assert contest_log.kinds_of(contest_log.read(tmp_path / "a.adi").contacts) == {
        "report": 900,
        "serial": 900,
    }
