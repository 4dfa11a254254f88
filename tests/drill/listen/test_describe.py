"""The figures of an over in sentences."""

from dataclasses import replace

import pytest

from drill.listen.describe import describe_delivery, describe_picture
from drill.listen.figures import AudioFigures, NeighbourFigures

FIGURES = AudioFigures(
    seconds=2.04,
    snr_db=5.31,
    processing_gain_db=2.31,
    pep_over_speech_db=10.5,
    mean_db=-22.04,
    peak_db=-6.97,
    level_quantiles_db=(-35.4, -24.2, -18.9),
    fading_range_db=(-21.6, 4.4),
    weak_share=0.124,
)


def test_delivery_with_and_without_processing_and_noise() -> None:
    rest = "PEP 10.5 dB above the speech level; audio level -22.0 dB mean, -7.0 dB peak."
    assert describe_delivery(FIGURES) == (
        f"SNR 5.3 dB in 3 kHz, 2.3 dB of it from speech processing; {rest}"
    )
    unprocessed = replace(FIGURES, snr_db=3.0, processing_gain_db=0.0)
    assert describe_delivery(unprocessed) == f"SNR 3.0 dB in 3 kHz; {rest}"
    noiseless = replace(FIGURES, snr_db=None, processing_gain_db=0.0)
    assert describe_delivery(noiseless) == f"no noise; {rest}"


def test_each_neighbour_has_its_levels() -> None:
    levels = {"requested_db": 20.0, "measured_db": 20.04, "passband_db": -3.26}
    neighbour = NeighbourFigures(offset_hz=2200.0, **levels)
    text = describe_delivery(replace(FIGURES, neighbours=(neighbour, neighbour)))
    one = "+2200 Hz: 20.0 requested, 20.0 measured, -3.3 after the filter"
    assert text.endswith(f" dB peak. SNR of neighbours in dB: {one}; {one}.")


@pytest.mark.parametrize(
    ("fading_range_db", "ending"),
    [
        (
            (-21.6, 4.4),
            "fading from -22 to +4 dB at 1500 Hz, more than 10 dB down for 12 % of the time.",
        ),
        (None, "no fading."),
    ],
)
def test_picture_with_and_without_fading(
    fading_range_db: tuple[float, float] | None, ending: str
) -> None:
    figures = replace(FIGURES, fading_range_db=fading_range_db)
    assert describe_picture(figures) == (
        "2.0 s; the level is below -35, -24 and -19 dB for 10, 50 and 90 % of the time; " + ending
    )
