"""The dial and its earlier positions."""

from drill.hunt.dial import Dial


def test_the_dial_knows_its_earlier_positions() -> None:
    dial = Dial(100.0)
    dial.turn(10, 200.0)
    dial.turn(10, 250.0)
    dial.turn(20, 300.0)
    assert dial.hz == 300.0
    assert [dial.at(time) for time in (-5, 0, 9, 10, 19, 20, 99)] == [
        *(100.0, 100.0, 100.0, 250.0, 250.0, 300.0, 300.0),
    ]
    assert dial.positions(0, 5) == {100.0}
    assert dial.positions(5, 15) == {100.0, 200.0, 250.0}
    assert dial.positions(12, 15) == {250.0}
    assert dial.positions(-9, -5) == {100.0}
