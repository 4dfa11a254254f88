"""The data of the picture of the dial: bands, points, contacts and the long stay."""

from dataclasses import replace

from drill.hunt.advice import LEAVE_SOONER
from drill.hunt.dial_picture import MAX_DIAL_POINTS, dial_picture
from drill.hunt.results import DialRest, HuntAdvice
from tests.drill.hunt.checked import HZ, checked
from tests.drill.hunt.hunts import hunt, judged, stop

SILENT = stop(at_s=600.0, replied=False, times_s=(0.0, 660.0, 0.0, 0.0), calls=9, too_long_s=600.0)
RESULT = replace(
    hunt((judged(SILENT),), (checked(at_s=60.0), checked(at_s=70.0, theirs=None))),
    dial=(
        DialRest(at_s=0.0, hz=HZ),
        DialRest(at_s=300.0, hz=HZ + 20_000),
        DialRest(at_s=900.0, hz=21_250_000.0),
    ),
)


def test_bands_hold_every_point_and_contact() -> None:
    picture = dial_picture(RESULT)
    assert len(picture.bands) == 2
    low, high = picture.bands
    assert low.high_khz < high.low_khz
    for khz in [khz for _, khz in picture.points] + [c.khz for c in picture.contacts]:
        assert any(band.low_khz <= khz <= band.high_khz for band in picture.bands)
    assert [contact.right for contact in picture.contacts] == [True, False]
    assert picture.points == ((0.0, 14_200.0), (300.0, 14_220.0), (900.0, 21_250.0))


def test_the_long_stay_is_that_of_the_advice() -> None:
    assert dial_picture(RESULT).stay is None
    advice = HuntAdvice(kind=LEAVE_SOONER, cost_s=600.0, count=1, stop=0, seconds=600.0)
    stay = dial_picture(replace(RESULT, advice=(advice,))).stay
    assert stay is not None
    assert (stay.start_s, stay.end_s, stay.khz) == (600.0, 1260.0, 14_200.0)
    assert stay.label == "11 minutes, no answer"


def test_the_words_name_the_figures() -> None:
    words = dial_picture(RESULT).says
    assert "14 200.0 to 14 220.0 kHz" in words
    assert "21 250.0" in words
    assert "Contacts that count: 1; lost: 1." in words
    assert "By quarter hour" in words


def test_very_many_moves_are_thinned() -> None:
    rests = tuple(DialRest(at_s=1.0 * n, hz=HZ + 10 * n) for n in range(3000))
    long = DialRest(at_s=3050.0, hz=HZ)
    picture = dial_picture(replace(RESULT, dial=(*rests, DialRest(at_s=3000.0, hz=HZ + 5), long)))
    assert MAX_DIAL_POINTS / 2 <= len(picture.points) <= MAX_DIAL_POINTS + 3
    assert picture.points[-1] == (3050.0, 14_200.0)
    assert picture.points[-2] == (3000.0, 14_200.005)


def test_a_hunt_without_moves() -> None:
    picture = dial_picture(hunt())
    assert (picture.bands, picture.points, picture.contacts) == ((), (), ())
