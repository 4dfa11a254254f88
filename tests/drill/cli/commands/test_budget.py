"""faintcall budget: its options are the fields of the form, and its output fits a terminal."""

import pytest

from drill.cli import main
from drill.linkbudget.budget import LinkEnd
from drill.linkbudget.describe import describe_budget
from drill.linkbudget.form import circuit_from_form
from drill.linkbudget.s_meter import path_snr_from_s


def output(capsys: pytest.CaptureFixture[str], options: str) -> str:
    assert main(["budget", *options.split()]) == 0
    return capsys.readouterr().out


def test_summary_tables_and_notes_are_printed(capsys: pytest.CaptureFixture[str]) -> None:
    out = output(capsys, "--watts 10 --path-snr 12 --line-length 50 --line-loss 4")
    circuit = circuit_from_form({"watts": 10, "path_snr": 12, "line_length": 50, "line_loss": 4})
    description = describe_budget(circuit)
    lines = out.splitlines()
    assert lines[0] == description.summary
    joined = " ".join(out.split())
    for table in description.tables:
        for row in (table.head, *table.rows):
            assert " ".join(" ".join(row).split()) in joined
    for note in description.notes:
        assert note in joined
    assert max(map(len, lines)) <= 100


def test_noise_categories_are_read_in_any_case(capsys: pytest.CaptureFixture[str]) -> None:
    assert output(capsys, "--here City --there RURAL") == output(
        capsys, "--here city --there rural"
    )


def test_a_wrong_value_prints_no_part_of_a_table(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["budget", "--path-s", "7", "--there", "moon"]) == 2
    assert capsys.readouterr().out == ""


def test_an_s_reading_describes_the_path(capsys: pytest.CaptureFixture[str]) -> None:
    out = output(capsys, "--path-s 9+10 --there rural")
    expected_db = path_snr_from_s("9+10", LinkEnd(noise_category="rural"), 14.2)
    assert f"give {expected_db:+.1f} dB there" in out


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ("--watts 0", "my power 0 W is out of range; allowed are 0.001 to 2000 W"),
        ("--far-watts 5000", "5000 W"),
        ("--frequency 144", "144 MHz is out of range; allowed are 0.3 to 30 MHz"),
        ("--frequency nan", "nan MHz"),
        ("--path-snr inf", "inf dB"),
        ("--path-s 12", "'12' is not an S reading"),
        ("--path-s 7 --path-snr 3", "either by its SNR or by an S reading, not both"),
        ("--antenna 99", "99 dB is out of range; allowed are -40 to 40 dB"),
        ("--short -1", "-1 dB"),
        ("--line nan", "nan dB"),
        ("--short 3 --wire-length 1", "either the shortening loss or the height of the wire"),
        ("--wire-length 9", "at most 2.64 m"),
        ("--wire-length 1 --loss-ohms -1", "-1 ohm"),
        ("--line-length 20", "together with its loss per 100 m"),
        ("--line-loss 3", "together with its loss per 100 m"),
        ("--line 1 --line-length 20 --line-loss 3", "not both"),
        ("--line-length 2000 --line-loss 3", "2000 m"),
        ("--here moon", "city, residential, rural, quiet-rural"),
        ("--atmospheric 500", "500 dB"),
    ],
)
def test_bad_input_ends_in_one_line(
    options: str, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["budget", *options.split()]) == 2
    line = capsys.readouterr().err.strip()
    assert message in line
    assert "\n" not in line
