"""Both logs as slips: the marked characters are those that differ from what was sent."""

from hypothesis import given
from hypothesis import strategies as st

from drill.contact.comparison import BothLogs
from drill.contact.slips import SlipPart, slip_rows
from drill.contact.wording import fault_sentences, logs_table

RIGHT = BothLogs(
    own_call="E87ABC",
    own_exchange="59 034",
    given_call="X61CCW",
    given_exchange="59 212",
    i_logged=True,
    they_logged=True,
    my_call="X61CCW",
    my_exchange="212",
    their_call="E87ABC",
    their_exchange="034",
    my_call_right=True,
    my_exchange_right=True,
    their_call_right=True,
    their_exchange_right=True,
)


def changed(**values: object) -> BothLogs:
    return BothLogs(**{**{name: getattr(RIGHT, name) for name in RIGHT.__slots__}, **values})


def texts(logs: BothLogs) -> list[tuple[str, str, str]]:
    """Return the rows with wrong characters in brackets."""

    def joined(parts: tuple[SlipPart, ...]) -> str:
        return "".join(f"[{part.text}]" if part.wrong else part.text for part in parts)

    return [(row.label, joined(row.mine), joined(row.theirs)) for row in slip_rows(logs)]


def test_right_logs_agree_and_show_the_usual_report() -> None:
    assert texts(RIGHT) == [
        ("worked", "X61CCW", "E87ABC"),
        ("you gave", "59 034", "59 034"),
        ("they gave", "59 212", "59 212"),
    ]


def test_a_wrong_character_is_marked() -> None:
    logs = changed(
        their_call="E87APC",
        their_call_right=False,
        their_exchange="035",
        their_exchange_right=False,
        my_call="X6CCW",
        my_call_right=False,
    )
    assert texts(logs) == [
        ("worked", "X6[-]CCW", "E87A[P]C"),
        ("you gave", "59 034", "03[5]"),
        ("they gave", "59 212", "59 212"),
    ]


def test_a_log_without_the_contact_has_empty_entries() -> None:
    logs = changed(
        they_logged=False,
        their_call="",
        their_exchange="",
        their_call_right=False,
        their_exchange_right=False,
    )
    assert [theirs for _, _, theirs in texts(logs)] == ["", "", ""]


def test_an_exchange_that_was_not_sent_is_in_neither_log() -> None:
    logs = changed(own_exchange_sent=False, their_exchange="", their_exchange_right=False)
    assert texts(logs)[1] == ("you gave", "", "")
    assert logs_table(logs).rows[1] == ("you gave", "-", "-")


def test_an_exchange_that_nobody_noted_is_missing_and_not_wrong() -> None:
    logs = changed(my_exchange="", my_exchange_right=False)
    assert fault_sentences(logs) == ("You have no exchange.",)
    logs = changed(my_exchange="213", my_exchange_right=False)
    assert fault_sentences(logs) == ("You have their exchange wrong.",)


@given(st.text("ABCXYZ0123456789?", max_size=9))
def test_parts_of_a_wrong_call_join_to_the_call(call: str) -> None:
    logs = changed(my_call=call, my_call_right=False)
    shown = "".join(part.text for part in slip_rows(logs)[0].mine)
    assert shown.replace("-", "") == call
