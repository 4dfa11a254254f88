from random import Random

from drill.contact.acts import VOICE, compose_saying
from drill.contact.comparison import BothLogs, compare_logs, has_sent_exchange, line_about
from drill.contact.far_states import LogLine
from drill.contact.notes import LogEntry
from drill.contact.overs import Over, Speaker
from phonetics.message import Field
from tests.drill.contact.scripted_trainee import OWN

THEIRS = Speaker(
    call="OH2QRK",
    fields=(
        Field(name="report", kind="report", text="59", optional_if="59"),
        Field(name="serial", kind="serial", text="212"),
    ),
)


def logs(entry: LogEntry | None, *lines: tuple[str, str]) -> BothLogs:
    return compare_logs(
        own=OWN,
        far=THEIRS,
        entry=entry,
        lines=[LogLine(call=call, exchange=exchange) for call, exchange in lines],
    )


GOOD = LogEntry(call="OH2QRK", exchange="59 212")


def test_right_at_both_ends() -> None:
    both = logs(GOOD, ("E87ABC", "034"))
    assert both.is_right
    assert both.faults == ()


def test_the_report_may_be_left_out_and_zeros_do_not_matter() -> None:
    assert logs(LogEntry(call="OH2QRK", exchange="212"), ("E87ABC", "34")).is_right


def test_faults_name_the_log_they_are_in() -> None:
    assert logs(GOOD, ("E87APC", "034")).faults == ("their-call",)
    assert logs(GOOD, ("E87ABC", "035")).faults == ("their-exchange",)
    assert logs(GOOD).faults == ("not-in-their-log",)
    assert logs(None, ("E87ABC", "034")).faults == ("not-in-my-log",)
    wrong = LogEntry(call="OH2QRA", exchange="213")
    assert logs(wrong, ("E87ABC", "034")).faults == ("my-call", "my-exchange")
    assert logs(None).faults == ()


def test_lines_about_other_stations_do_not_count() -> None:
    assert logs(GOOD, ("Z75XYZ", "017")).faults == ("not-in-their-log",)


def test_of_two_lines_the_better_and_then_the_newer_counts() -> None:
    lines = [LogLine("E87APC", "034"), LogLine("E87ABC", "034"), LogLine("E87ABC", "035")]
    assert line_about("E87ABC", lines) is lines[2]
    assert line_about("E87ABC", lines[:2]) is lines[1]


def test_the_exchange_is_sent_by_its_key_and_perhaps_by_microphone() -> None:
    def said(kind: str) -> Over:
        return compose_saying(kind, OWN, None, LogEntry(call="", exchange=""))

    assert not has_sent_exchange(OWN, [])
    assert not has_sent_exchange(OWN, [said("call"), said("correction"), said("thanks")])
    assert has_sent_exchange(OWN, [said("call"), said("exchange")])
    assert has_sent_exchange(OWN, [Over(kind="short", words=OWN.say(Random(0), "{short}"))])
    assert has_sent_exchange(OWN, [Over(kind=VOICE, words=(), said="five nine")])
