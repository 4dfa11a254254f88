"""The pad: lines from notes, which can be corrected until the end."""

from hypothesis import given
from hypothesis import strategies as st

from drill.hunt.pad import Pad


def filled() -> Pad:
    pad = Pad()
    pad.note("E87XY")
    pad.note("59 123")
    pad.log(at=16000, hz=14_208_000.0, given="59 001", holder=3)
    return pad


def test_a_line_is_made_from_the_notes_since_the_last() -> None:
    pad = filled()
    (line,) = pad.lines
    assert (line.number, line.call, line.got, line.given) == (1, "E87XY", "59 123", "59 001")
    assert (line.text, line.holder) == ("E87XY 59 123", 3)
    assert not pad.notes
    assert pad.log(at=17000, hz=14_208_000.0, given="59 002") is None
    assert len(pad.lines) == 1


def test_a_line_can_be_corrected_in_part_or_whole() -> None:
    pad = filled()
    mended = pad.mend(1, "124")
    assert mended is not None
    assert (mended.call, mended.got) == ("E87XY", "124")
    mended = pad.mend(None, "E87XZ")
    assert mended is not None
    assert (mended.call, mended.got, mended.given) == ("E87XZ", "124", "59 001")
    assert pad.mend(2, "E87XZ") is None
    assert pad.mend(0, "E87XZ") is None


def test_a_call_worked_before_is_found_however_it_is_typed() -> None:
    pad = filled()
    assert pad.has(" e87 xy") is pad.lines[0]
    assert pad.has("E87X") is None
    assert pad.has("") is None


@given(st.lists(st.text(max_size=12), max_size=6), st.text(max_size=20))
def test_any_text_makes_a_line_that_can_be_corrected(notes: list[str], text: str) -> None:
    pad = Pad()
    for note in notes:
        pad.note(note)
    line = pad.log(at=0, hz=7e6, given="59 001")
    assert (line is None) == (not notes)
    assert (pad.mend(None, text) is None) == (not notes)
