"""Files of learned mixes: names, overwriting, damage."""

from pathlib import Path

import pytest

from drill.callmix.mix import LearnedMix
from drill.callmix.storage import find_learned_mix, learned_mix_names, save_learned_mix
from drill.core.errors import UserError


def test_saving_listing_and_overwriting(mix: LearnedMix, home: Path) -> None:
    assert learned_mix_names() == ()
    save_learned_mix(mix, {"report": 900, "zone-itu": 880}, overwrite=False)
    assert learned_mix_names() == ("mine",)
    assert find_learned_mix("world") is None
    with pytest.raises(UserError, match="already exists"):
        save_learned_mix(mix, {}, overwrite=False)
    save_learned_mix(mix, {}, overwrite=True)
    with pytest.raises(UserError, match=r"'other' is unknown; choose one of world, .*, mine"):
        find_learned_mix("other")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("schema = 1", "schema = 2", "learn it again"),
        ("schema = 1", "schema = ", "cannot be read"),
        ('salt = "', 'salt = "xyz', "hexadecimal"),
        ('salt = "', 'salt = "00', "wrong length"),
        ('taken = "', 'taken = "00', "wrong length"),
        ("stations = ", 'stations = "', "cannot be read"),
        ("stations = ", "stations = -", "no calls can be composed"),
        ('prefix = "', 'prefix = "#', "no calls can be composed"),
        ('region = "europe"', 'region = "moon"', "no calls can be composed"),
        ("[[share]]", "[[part]]", "shares has to be a list"),
    ],
)
def test_a_damaged_file_gives_a_one_line_error(
    old: str, new: str, message: str, mix: LearnedMix, home: Path
) -> None:
    path = save_learned_mix(mix, {}, overwrite=False)
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(UserError, match=message) as caught:
        find_learned_mix("mine")
    assert "\n" not in str(caught.value)
