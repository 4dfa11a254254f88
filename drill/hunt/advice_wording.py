"""The advice of a hunt as sentences, each with the figures that support it."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from drill.core.counting import plural
from drill.hunt.advice import (
    ASK_AGAIN,
    CALL_AGAIN,
    LEAVE_SOONER,
    LISTEN_FIRST,
    LOG_IT,
    MEND_AT_ONCE,
    NOT_TWICE,
    SOON_S,
    STOP_THERE,
    WAIT_FOR_END,
)
from drill.hunt.checking import WRONG_CALL, WRONG_EXCHANGE, CheckedContact
from drill.hunt.results import HuntAdvice, HuntResult, JudgedStop
from drill.hunt.stops import LONGEST_WAIT_S
from drill.hunt.wording import dial_text, expected_text, minutes_and_seconds

SHOWN_OPTIONS = 3
_MISTAKES = {
    "sent-while-they-sent": (
        "Wait until they have ended. At {stops} you sent while the station was sending.",
        "calling",
    ),
    "called-without-listening": (
        "Call once, then listen for three seconds. At {stops} you called again at once.",
        "calling",
    ),
    "called-over-others": (
        "Call when the others have ended. At {stops} you called while another station was "
        "answered.",
        "calling",
    ),
    "repeated-unasked": (
        "Send your exchange once. At {stops} you repeated it although nobody had asked.",
        "the exchange",
    ),
}
"""Advice on the mistakes of contacts, and the phase that they make longer."""


def no_advice_sentence(result: HuntResult) -> str:
    """Return the sentence that replaces advice if there is none."""
    if any(entry.stop.called_after_s is not None for entry in result.stops):
        return "No habit cost you much time in this hunt."
    return "You called no station, so there is no advice."


def advice_texts(result: HuntResult, advice: HuntAdvice) -> tuple[str, str]:
    """Return the advice as a sentence, and the figures behind it."""
    if advice.kind in _MISTAKES:
        template, phase = _MISTAKES[advice.kind]
        longer = minutes_and_seconds(advice.seconds)
        return (
            template.format(stops=plural(advice.count, "station")),
            f"{phase.capitalize()} took {longer} longer there than at other stations you called.",
        )
    return _TEXTS[advice.kind](result, advice)


def _stop(result: HuntResult, advice: HuntAdvice) -> JudgedStop:
    assert advice.stop is not None
    return result.stops[advice.stop]


def _leave_sooner(result: HuntResult, advice: HuntAdvice) -> tuple[str, str]:
    entry = _stop(result, advice)
    longer = minutes_and_seconds(entry.stop.too_long_s)
    waited = entry.stop.seconds - entry.stop.too_long_s >= LONGEST_WAIT_S - 1
    when = (
        f"after {LONGEST_WAIT_S:.0f} seconds without an answer" if waited else "after three calls"
    )
    expected = f"Expected time until it answers {result.watts:g} W: {expected_text(entry)}."
    better = ""
    if entry.better is not None:
        better = (
            f" {entry.better.call} on {dial_text(entry.better.hz)}: "
            f"{minutes_and_seconds(entry.better.expected_s)}."
        )
    more = ""
    if advice.count > 1:
        more = (
            f" {plural(advice.count, 'station')} of this kind: "
            f"{minutes_and_seconds(advice.seconds)} in all."
        )
    return (
        f"Leave {dial_text(entry.stop.hz)} {when}. You stayed {longer} longer.",
        f"{plural(entry.stop.callers, 'other station')} called it. {expected}{better}{more}",
    )


def _listen_first(result: HuntResult, advice: HuntAdvice) -> tuple[str, str]:
    return (
        f"Wait for the call before you call. You called {plural(advice.count, 'station')} whose "
        "call you had not heard.",
        f"They took {minutes_and_seconds(advice.seconds)} more each than those whose call you had "
        "heard first.",
    )


def _mend_at_once(result: HuntResult, advice: HuntAdvice) -> tuple[str, str]:
    entry = _stop(result, advice)
    assert entry.contact is not None
    theirs = result.contacts[entry.contact].logs.their_call
    return (
        f"Correct a wrong call at once (key w). {entry.call} has logged {theirs}.",
        f"{plural(advice.count, 'contact')} lost: you sent your exchange without the correction, "
        "which takes four seconds.",
    )


def _wait_for_end(result: HuntResult, advice: HuntAdvice) -> tuple[str, str]:
    where = ""
    if advice.stop is not None:
        entry = _stop(result, advice)
        where = f" One is {entry.call} in minute {entry.stop.at_s / 60:.0f}."
    return (
        "Log only after you have heard the end. Not in the other log: "
        f"{advice.count} of {result.logged} contacts.",
        f"{_mean_time(result)}{where}",
    )


def _ask_again(result: HuntResult, advice: HuntAdvice) -> tuple[str, str]:
    lost = next(c for c in result.contacts if c.verdict in (WRONG_CALL, WRONG_EXCHANGE))
    return (
        "Ask again when you are not sure (key b). Lost by errors in your log: "
        f"{advice.count} of {result.logged} contacts.",
        f"{_mean_time(result)} {_own_error(lost)}",
    )


def _own_error(lost: CheckedContact) -> str:
    logs = lost.logs
    if lost.verdict == WRONG_CALL:
        return f"You have {logs.my_call or 'no call'} in place of {logs.given_call}."
    mine = logs.my_exchange or "nothing"
    return f"{logs.given_call} sent {logs.given_exchange}, and you have {mine}."


def _log_it(result: HuntResult, advice: HuntAdvice) -> tuple[str, str]:
    missing = next(c for c in result.contacts if c.number is None)
    return (
        f"Log every contact (key l). {missing.logs.given_call} has logged you, but you have not "
        "logged it.",
        f"{plural(advice.count, 'contact')} lost this way.",
    )


def _not_twice(result: HuntResult, advice: HuntAdvice) -> tuple[str, str]:
    return (
        f"Look at your pad before you call. You worked {plural(advice.count, 'station')} twice.",
        f"That took {minutes_and_seconds(advice.seconds)}, and a second contact does not count.",
    )


def _call_again(result: HuntResult, advice: HuntAdvice) -> tuple[str, str]:
    entry = _stop(result, advice)
    return (
        f"Call a second time before you leave. You left {plural(advice.count, 'station')} after "
        "one call.",
        f"Expected time until they answer: {minutes_and_seconds(advice.seconds)} on average; "
        f"{entry.call} on {dial_text(entry.stop.hz)}: {expected_text(entry)}.",
    )


def _stop_there(result: HuntResult, advice: HuntAdvice) -> tuple[str, str]:
    shown = [option for option in result.passed if option.expected_s <= SOON_S][:SHOWN_OPTIONS]
    listed = ", ".join(
        f"{option.call} on {dial_text(option.hz)} ({minutes_and_seconds(option.expected_s)})"
        for option in shown
    )
    return (
        f"Stop at stations that will soon answer. You heard {plural(advice.count, 'station')} that "
        "you never called.",
        f"Expected time until they answer {result.watts:g} W: {listed}.",
    )


def _mean_time(result: HuntResult) -> str:
    return (
        "A contact took you "
        f"{minutes_and_seconds(result.seconds / max(1, result.logged))} on average."
    )


_TEXTS: Mapping[str, Callable[[HuntResult, HuntAdvice], tuple[str, str]]] = MappingProxyType(
    {
        LEAVE_SOONER: _leave_sooner,
        LISTEN_FIRST: _listen_first,
        MEND_AT_ONCE: _mend_at_once,
        WAIT_FOR_END: _wait_for_end,
        ASK_AGAIN: _ask_again,
        LOG_IT: _log_it,
        NOT_TWICE: _not_twice,
        CALL_AGAIN: _call_again,
        STOP_THERE: _stop_there,
    }
)
