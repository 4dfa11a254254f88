"""No typed line is taken for an over with other values."""

from hypothesis import given
from hypothesis import strategies as st

from drill.scoring.answers import score_answer
from phonetics.message import Field

OVERS = st.tuples(
    st.sampled_from(["E8ABC", "E8ABD", "E8AB", "X9Z", "E8ABC/P", "X2/E8ABC"]),
    st.sampled_from(["59", "57", "45"]),
    st.integers(1, 40),
    st.sampled_from([1, 4, 5, 9, 10, 14, 59, 114, 599]),
)


def over_fields(over: tuple[str, str, int, int]) -> tuple[Field, ...]:
    call, report, zone, serial = over
    return (
        Field(name="call", kind="call", text=call),
        Field(name="report", kind="report", text=report, optional_if="59"),
        Field(name="zone", kind="zone-amateur", text=f"{zone:02d}"),
        Field(name="serial", kind="serial", text=f"{serial:03d}"),
    )


@given(sent=OVERS, typed=OVERS, data=st.data())
def test_an_over_with_another_value_is_never_logged_right(
    sent: tuple[str, str, int, int], typed: tuple[str, str, int, int], data: st.DataObject
) -> None:
    call, report, zone, serial = typed
    line = data.draw(st.sampled_from([call, call.lower(), call.replace("/P", " portable")]))
    line += " " + data.draw(st.sampled_from([report, f"report {report}", f"{report}."]))
    line += data.draw(st.sampled_from([f"/{zone}", f" zone {zone:02d}", f", {zone}", f" {zone}"]))
    line += data.draw(
        st.sampled_from([f"/{serial}", f" nr{serial:03d}", f" no. {serial}", f" {serial}"])
    )
    scores = score_answer(over_fields(sent), line)
    assert all(score.right for score in scores) == (sent == typed), line
