"""Sentences about contacts, the same in the terminal and on the page."""

from collections.abc import Sequence

from drill.contact.comparison import BothLogs
from drill.contact.debrief import PHASES, Advice, ContactResult
from drill.contact.figures import ContactFigures, figures_by_power, summarise_contacts
from drill.contact.live import LEFT, STATION_LEFT
from drill.core.counting import plural
from drill.core.text_blocks import Passage, Table
from drill.psychometrics.intervals import Interval

MIN_CONTACTS = 5
"""Shares of fewer contacts say nothing, so screens leave them out."""
SPEAKER_NAMES = {"they": "they", "you": "you", "other": "another"}
"""The speaker of an over of a finished contact."""
_FAULTS = {
    "not-in-their-log": "You are not in their log.",
    "their-call": "They have your call wrong.",
    "their-exchange": "They have your exchange wrong.",
    "not-in-my-log": "They logged you, but you did not log them.",
    "my-call": "You have their call wrong.",
    "my-exchange": "You have their exchange wrong.",
}
_MISSING = {"my-call": "You have no call.", "my-exchange": "You have no exchange."}
"""Instead of _FAULTS if the trainee noted nothing at all."""
_ADVICE = {
    "exchange-while-wrong": "At {at} you sent your exchange while your call was wrong. Correct the "
    "call first, or together with the exchange: w, then x.",
    "called-without-listening": "At {at} you called again before an answer could come. Call once, "
    "then listen for three seconds.",
    "sent-while-they-sent": "At {at} you sent while they were still sending, and a station that "
    "sends hears nothing. Wait until they have ended.",
    "called-over-others": "At {at} you called while they were working another station. Wait until "
    "they have ended.",
    "repeated-unasked": "At {at} you repeated your exchange although nobody had asked for it. Wait "
    "until they ask.",
    "alternate-words": "At {at} you spelt your call with words other than the ITU's, although they "
    "had asked for it again. The ITU's words are copied better.",
    "others-waiting": "At {at} you called a station that others were calling too. With little "
    "power, call when the others have ended, or come back later.",
}
PHASE_NAMES = {
    "waiting": "waiting",
    "calling": "calling",
    "mending": "correcting",
    "exchange": "exchange",
}


def clock(seconds: float) -> str:
    """Return a time as minutes and seconds, such as "0:12"."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def heading(result: ContactResult) -> str:
    """Return a short sentence on how a contact ended."""
    logs = result.logs
    if logs.is_right:
        return "Right in both logs."
    if logs.faults:
        wrong = _wrong_character(logs) if logs.faults[0] == "their-call" else ""
        return wrong or fault_sentences(logs)[0]
    if result.ended == LEFT:
        return "You left, so the contact is in neither log."
    if result.ended == STATION_LEFT:
        return "The station has left the frequency; the contact is in neither log."
    return "The contact is in neither log."


def fault_sentences(logs: BothLogs) -> tuple[str, ...]:
    """Return a sentence for each fault."""
    missing = {
        fault
        for fault, text in (("my-call", logs.my_call), ("my-exchange", logs.my_exchange))
        if not text
    }
    return tuple(_MISSING[fault] if fault in missing else _FAULTS[fault] for fault in logs.faults)


def _wrong_character(logs: BothLogs) -> str:
    """Return "They have P for B." if one character of the call is wrong, else ""."""
    if len(logs.their_call) != len(logs.own_call):
        return ""
    pairs = zip(logs.own_call, logs.their_call, strict=True)
    wrong = [(own, theirs) for own, theirs in pairs if own != theirs]
    return f"They have {wrong[0][1]} for {wrong[0][0]}." if len(wrong) == 1 else ""


def advice_sentence(advice: Advice | None) -> str:
    """Return the advice as a sentence, "" if there is none."""
    return "" if advice is None else _ADVICE[advice.kind].format(at=clock(advice.at_s))


def time_sentence(result: ContactResult) -> str:
    """Return a sentence on the time spent in each phase of a contact."""
    total = sum(result.times_s)
    parts = [
        f"{PHASE_NAMES[name]} {seconds:.0f} s"
        for name, seconds in zip(PHASES, result.times_s, strict=True)
        if seconds >= 0.5
    ]
    return f"{total:.0f} s in all: {', '.join(parts)}."


def time_heading(result: ContactResult) -> str:
    """Return the duration of a contact, and the part of it spent on corrections."""
    total = sum(round(seconds) for seconds in result.times_s)
    mending = round(result.times_s[PHASES.index("mending")])
    spent = f"{mending} of them on corrections" if mending else "none of them on corrections"
    return f"{plural(total, 'second')}, {spent}"


def path_sentence(result: ContactResult) -> str:
    """Return a sentence on both signals, and on the causes of their difference."""
    others = {0: "Nobody else called.", 1: "One other station called."}.get(
        result.callers, f"{result.callers} other stations called."
    )
    more = "more" if result.noise_above_db >= 0 else "less"
    return (
        f"You reached them with {result.far_db:+.0f} dB from {result.watts:g} W; they reached you "
        f"with {result.near_db:+.0f} dB from {result.far_watts:g} W. They have "
        f"{abs(result.noise_above_db):.0f} dB {more} noise than you. {others}"
    )


def logs_table(logs: BothLogs) -> Table:
    """Return both logs side by side; "-" marks missing entries."""
    nothing = "-"
    # The far log omits the usual report.
    theirs = logs.own_exchange if logs.their_exchange_right else logs.their_exchange
    return Table(
        caption="Both logs",
        head=("", "in your log", "in their log"),
        rows=(
            ("worked", logs.my_call or nothing, logs.their_call or nothing),
            (
                "you gave",
                logs.own_exchange if logs.i_logged and logs.own_exchange_sent else nothing,
                theirs or nothing,
            ),
            (
                "they gave",
                logs.my_exchange or nothing,
                logs.given_exchange if logs.they_logged else nothing,
            ),
        ),
    )


def truth_sentence(logs: BothLogs) -> str:
    """Return a sentence on what was actually sent."""
    return (
        f"They were {logs.given_call} and sent {logs.given_exchange}; you were {logs.own_call} and "
        f"had to send {logs.own_exchange}."
    )


def figures_table(figures: Sequence[ContactFigures]) -> Table:
    """Return contacts by power."""
    rows = [
        (
            "all" if entry.watts is None else f"{entry.watts:g} W",
            f"{entry.begun}",
            f"{entry.completed}",
            f"{entry.right}",
            _share(entry.right_share) if entry.begun >= MIN_CONTACTS else "too few",
            f"{entry.mended} of {entry.to_mend}",
            "" if entry.overs is None else f"{entry.overs:.1f}",
            "" if entry.seconds is None else f"{entry.seconds:.0f}",
        )
        for entry in figures
    ]
    return Table(
        caption="Contacts by power",
        head=(
            "power",
            "begun",
            "in both logs",
            "right in both",
            "share right, 95 %",
            "own call corrected",
            "overs each",
            "seconds each",
        ),
        rows=tuple(rows),
    )


def session_block(results: Sequence[ContactResult]) -> Passage:
    """Return the figures of a session."""
    by_power = figures_by_power(results)
    total = summarise_contacts(results)
    sentence = (
        f"{plural(total.begun, 'contact')}: {total.completed} in both logs, {total.right} right in "
        "both."
    )
    if len(by_power) > 1:
        sentence += (
            " The same stations were met at every power: the difference is what power costs."
        )
    return Passage(title="This session", table=figures_table(by_power), sentences=(sentence,))


def _share(interval: Interval) -> str:
    return f"{100 * interval.value:.0f} % ({100 * interval.low:.0f} to {100 * interval.high:.0f})"
