"""Options that commands share: which values are refused, and the messages."""

from math import log10
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.cli import main, parser
from drill.cli.options import session_options_from
from drill.session.options import conditions_from_options


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("--conditions fog", "conditions preset 'fog' is unknown; choose one of plain"),
        ("--snr 3 --watts 5", "watts"),
        ("--path-snr 3", "watts"),
        ("--watts 0", "0 W is out of range"),
        ("--watts 5 --path-snr 90", "SNR 76.99 dB is out of range"),
        ("--filter 4000", "filter width 4000 Hz"),
        ("--filter 18x", "filter '18x' is not valid"),
        ("--fading 1/x", "fading '1/x' is not valid"),
        ("--processing magic", "'magic' is unknown"),
        ("--off-frequency 900", "off frequency 900 Hz"),
        ("--static 1", "Vd 1 dB"),
        ("--without fog", "stage 'fog' is unknown"),
    ],
)
def test_a_wrong_option_is_refused_in_one_line(
    words: str, message: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["listen", "--audio-to", str(home / "out"), *words.split()]) == 2
    line = capsys.readouterr().err.strip()
    assert message in line
    assert "\n" not in line


@given(watts=st.floats(0.1, 1500), path_snr_db=st.floats(-10, 30))
def test_watts_change_the_snr_by_their_decibels(watts: float, path_snr_db: float) -> None:
    """Power ratio in decibels: 10 log10(P / 100 W)."""
    expected_db = path_snr_db + 10 * log10(watts / 100)
    if -30 <= expected_db <= 60:
        words = f"copy --watts {watts!r} --path-snr={path_snr_db!r}"
        options = session_options_from(parser().parse_args(words.split()))
        assert conditions_from_options(options).snr_db == pytest.approx(expected_db, abs=0.006)
