"""Order of the grades; tests/outside/test_link_budget.py compares them with ITU-R F.339."""

from hypothesis import given
from hypothesis import strategies as st

from drill.linkbudget.grades import BELOW_USABLE, F339_GRADES, f339_grade

ORDER = (BELOW_USABLE, *(grade.name for grade in F339_GRADES))


@given(st.floats(30, 90), st.floats(0, 20))
def test_grades_rise_with_density_and_fading_never_helps(
    density_dbhz: float, more_db: float
) -> None:
    steady, fading = (
        ORDER.index(f339_grade(density_dbhz, fading=fades)) for fades in (False, True)
    )
    assert fading <= steady <= ORDER.index(f339_grade(density_dbhz + more_db, fading=False))
