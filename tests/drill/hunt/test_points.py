import pytest

from drill.core.errors import UserError
from drill.hunt.points import area_of, count_points, load_rules, rules_names
from tests.drill.hunt.checked import checked

RULES = load_rules()


def test_the_packaged_rules_can_be_read() -> None:
    for name in rules_names():
        rules = load_rules(name)
        assert rules.title
        assert rules.sentence.endswith(".")
        assert rules.other_area >= rules.contact > 0 >= rules.not_in_their_log
    with pytest.raises(UserError) as error:
        load_rules("none")
    assert error.value.field == "rules"


@pytest.mark.parametrize(
    ("call", "area"),
    [  # holders of series in ITU Radio Regulations Appendix 42; E8 is in none
        ("OH2QRK", "Finland"),
        ("OF2QRK", "Finland"),
        ("EA3QRK", "Spain"),
        ("E87ABC", "E8"),
    ],
)
def test_an_area_is_the_holder_of_the_series(call: str, area: str) -> None:
    assert area_of(call) == area


def test_points_times_areas() -> None:
    contacts = [
        checked("OH2QRK"),
        checked("OF3QRA"),  # the same area again
        checked("EA3QRK"),
        checked("EA3QRK", hz=7_090_000.0),  # the same area on another band
        checked("E86QRB"),  # in the trainee's own area
        checked("YL5QRE", theirs=None),  # costs a point
        checked("DL4QRB", logged="DL4QRA 212"),  # a duplicate counts nothing
    ]
    points = count_points(contacts, own_call="E87ABC", rules=RULES)
    assert points.each == (3, 3, 3, 3, 1, -1, 0)
    assert (points.points, points.areas, points.score) == (12, 4, 48)


def test_points_are_never_below_zero() -> None:
    points = count_points([checked(theirs=None)], own_call="E87ABC", rules=RULES)
    assert (points.points, points.areas, points.score) == (0, 0, 0)
