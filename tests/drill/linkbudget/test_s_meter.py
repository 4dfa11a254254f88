"""S readings: their forms, and the path that they describe."""

import pytest

from drill.core.errors import UserError
from drill.linkbudget.budget import LinkEnd
from drill.linkbudget.s_meter import path_snr_from_s, s_reading_dbm


def test_readings_over_s9_with_a_letter_and_between_units() -> None:
    assert s_reading_dbm("9+20") == s_reading_dbm("9") + 20
    assert s_reading_dbm("S6.5") == (s_reading_dbm("6") + s_reading_dbm("7")) / 2


def test_one_s_unit_is_6_db_of_path_snr() -> None:
    louder, softer = (path_snr_from_s(reading, LinkEnd(), 14.2) for reading in ("S8", "S7"))
    assert louder - softer == pytest.approx(6)


@pytest.mark.parametrize("reading", ["", "10", "9.5", "-1", "9+", "9+61", "9+-3", "5+10", "loud"])
def test_a_wrong_reading_is_rejected(reading: str) -> None:
    with pytest.raises(UserError, match="is not an S reading; give 0 to 9, or 9"):
        s_reading_dbm(reading)
