"""A change of the code that determines the samples needs a decision about the sound version."""

import pytest

from tests.tools.sound_stamps import (
    SOURCES,
    current_stamp,
    current_version,
    recorded_stamps,
    stamp_of_source,
)

CODE = '''
"""A module."""
import numpy as np
from drill.core.arrays import true_runs

def scaled(samples: list, gain: float) -> list:
    """Return samples."""
    if gain < 0:
        raise ValueError("gain is below 0")
    true_runs(samples)
    return np.rint(samples * gain)  # rounded
'''


@pytest.mark.parametrize("part", SOURCES)
def test_the_code_has_not_changed_since_its_version_was_decided(part: str) -> None:
    version = "EFFECTS_VERSION" if part == "effects" else "the engine's sound_version"
    recorded = recorded_stamps()[part]
    current = {"sound_version": current_version(part), "stamp": current_stamp(part)}
    assert recorded == current, (
        f"The code of {part!r} has changed. If its samples change, increase {version}: cached "
        "speech is then synthesised again. In any case record the new stamp with: "
        "python -m tests.tools.sound_stamps"
    )


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("# rounded", "# to whole numbers"),
        ('"""Return samples."""', '"""Return the samples, scaled."""'),
        ("gain is below 0", "the gain has to be positive"),
        ("samples: list", "samples: tuple"),
        ("import numpy as np", "import math\nimport numpy as np"),
        ("gain", "factor"),
        ("true_runs", "find_runs"),
    ],
)
def test_a_change_of_wording_or_names_keeps_the_stamp(old: str, new: str) -> None:
    assert stamp_of_source(CODE.replace(old, new)) == stamp_of_source(CODE)


@pytest.mark.parametrize(
    ("old", "new"),
    [("gain < 0", "gain < 1"), ("np.rint", "np.floor"), ("samples * gain", "gain * gain")],
)
def test_a_change_of_the_calculation_changes_the_stamp(old: str, new: str) -> None:
    assert stamp_of_source(CODE.replace(old, new)) != stamp_of_source(CODE)
