"""Logs in the published formats, written by independent packages.

Sources: ADIF, Amateur Data Interchange Format, version 3.1.6 (2025), sections "ADI Data-Specifiers"
and "QSO Fields"; Cabrillo specification, version 3.0, "QSO data" and "Other tags". Both are values
from memory. The writers are those of the packages adif-io and cabrillo. All calls are composed.
"""

from datetime import datetime
from pathlib import Path
from random import Random

import pytest

from drill.callmix.contest_log import LOOKED_UP_FIELDS, RECEIVED_FIELDS, read_log
from drill.callmix.exchange_kinds import count_kinds
from phonetics.callsign_mixes import compose_callsign
from phonetics.field_kinds import FIELD_KINDS

# Names and meanings of QSO fields, ADIF 3.1.6; value from memory.
ADIF_FIELDS = {
    "AGE": "the contacted station's operator's age in years",
    "ARRL_SECT": "the contacted station's section",
    "CHECK": "contest check",
    "CLASS": "contest class",
    "CQZ": "the contacted station's zone, 1 to 40",
    "DARC_DOK": "the contacted station's district location code",
    "GRIDSQUARE": "the contacted station's Maidenhead locator, 2, 4, 6 or 8 characters",
    "ITUZ": "the contacted station's ITU zone, 1 to 90",
    "NAME": "the contacted station's operator's name",
    "PRECEDENCE": "contest precedence",
    "RST_RCVD": "signal report from the contacted station",
    "RX_PWR": "the contacted station's transmitter power in watts",
    "SRX": "contest QSO received serial number",
    "STATE": "code of the contacted station's primary administrative subdivision",
}


@pytest.fixture
def call() -> str:
    return compose_callsign(Random(3), strokes=0).text


def test_fields_are_those_of_adif() -> None:
    assert set(RECEIVED_FIELDS | LOOKED_UP_FIELDS) == set(ADIF_FIELDS)
    assert set((RECEIVED_FIELDS | LOOKED_UP_FIELDS).values()) <= set(FIELD_KINDS)


def test_a_data_specifier_is_read_as_the_standard_writes_it(call: str, tmp_path: Path) -> None:
    """<NAME:LENGTH:TYPE>data: in any case, with or without a type, LENGTH characters of data."""
    path = tmp_path / "a.adi"
    head = "header\n<adif_ver:5>3.1.6\n<Eoh>\n"
    path.write_text(head + f"<caLL:{len(call)}:S>{call}xx <Srx:1:N>7<rst_rcvd:2>59\n<eoR>")
    (contact,) = read_log(path).contacts
    assert contact.call == call
    assert contact.kinds == ("report", "serial")


def test_a_value_may_hold_what_looks_like_a_tag(call: str, tmp_path: Path) -> None:
    path = tmp_path / "a.adi"
    path.write_text(f"<COMMENT:16>a <eor> or <srx: <CALL:{len(call)}>{call} <EOR>")
    (contact,) = read_log(path).contacts
    assert contact.call == call


def test_a_file_without_a_header_starts_with_a_tag(call: str, tmp_path: Path) -> None:
    path = tmp_path / "a.adi"
    path.write_text(f"<CALL:{len(call)}>{call}<EOR>")
    assert [contact.call for contact in read_log(path).contacts] == [call]


def test_lengths_counted_in_bytes_do_no_harm(call: str, tmp_path: Path) -> None:
    path = tmp_path / "a.adi"
    path.write_text(f"\ufeffhead<EOH><NAME:6>Jürgen<CALL:{len(call)}>{call}<EOR>", encoding="utf-8")
    (contact,) = read_log(path).contacts
    assert contact.call == call


def test_files_of_adif_io_are_read(call: str, tmp_path: Path) -> None:
    import adif_io

    fields = {"CALL": call, "QSO_DATE": "20260301", "TIME_ON": "1200", "MODE": "SSB", "ITUZ": "28"}
    path = tmp_path / "a.adi"
    path.write_text(
        str(adif_io.headers_from_dict({"ADIF_VER": "3.1.6"})) + str(adif_io.qso_from_dict(fields))
    )
    (contact,) = read_log(path).contacts
    assert (contact.call, contact.kinds) == (call, ("zone-itu",))


def test_files_of_cabrillo_are_read(call: str, tmp_path: Path) -> None:
    from cabrillo import QSO, Cabrillo

    own = compose_callsign(Random(4), strokes=0).text
    when = datetime(2026, 3, 1, 12, 0)
    given = {"de_call": own, "dx_call": call, "de_exch": ["59", "1"], "dx_exch": ["59", "204"]}
    qso = QSO("14250", "PH", when, **given)
    left_out = QSO("14250", "PH", when, valid=False, **given)
    log = Cabrillo(callsign=own, contest="INVENTED", qso=[qso, left_out])
    path = tmp_path / "a.log"
    path.write_text(log.text())
    (contact,) = read_log(path).contacts
    assert (contact.call, contact.unnamed) == (call, ("59", "204"))
    assert count_kinds([contact]) == {"report": 1, "serial": 1}


@pytest.mark.parametrize("transmitter", ["", " 0", " 1"])
def test_a_qso_line_of_cabrillo_3(transmitter: str, call: str, tmp_path: Path) -> None:
    """QSO: freq mo date time call rst exch call rst exch t, the transmitter at the end or not."""
    own = compose_callsign(Random(4), strokes=0).text
    path = tmp_path / "a.log"
    path.write_text(
        "START-OF-LOG: 3.0\r\nX-NOTE: any\r\n"
        f"QSO:  3799 PH 2026-03-06 0711 {own:13} 59  700    {call:13} 59  33{transmitter}\r\n"
        f"QTC: 14250 PH 2026-03-06 0711 {own} 1/1 {call} 0700 {call} 1\r\nEND-OF-LOG:\r\n"
    )
    (contact,) = read_log(path).contacts
    assert (contact.call, contact.unnamed) == (call, ("59", "33"))
