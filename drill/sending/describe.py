"""Sentences for prompts, reviews and far ends, the same in the terminal and on the page."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from drill.core.models import WordTime
from drill.psychometrics.intervals import Interval
from drill.sending.far_end import FarEnds
from drill.sending.intelligibility import lost_words
from drill.sending.models import Finding, Prompt, Review, ReviewedWord
from drill.sending.review import ReviewChange

MIN_DELIVERED_SHARE = 0.5
"""A take that contains a smaller share of the expected words is not compared with the reference
voice."""
INDEX_NOTE = (
    "a prediction for this channel, compared with a reference voice; not a human listener's score"
)
FINDING_LABELS: Mapping[str, str] = {
    "wrong": "wrong",
    "missing": "left out",
    "extra": "not expected",
    "order": "out of order",
    "unsure": "perhaps wrong",
    "form": "non-standard wording",
    "again": "repeated",
    "corrected": "corrected",
    "filler": "filler",
    "unclear": "unclear",
    "nothing": "no word recognised",
    "hurried": "too fast",
    "slow": "slow",
    "pause": "long pause",
    "quiet": "too quiet",
    "clipped": "clipping",
    "noisy": "noise",
    "hum": "hum",
    "dull": "dull",
    "thin": "thin",
    "outside": "outside the SSB passband",
}
"""A few words for each kind of finding."""


@dataclass(frozen=True, kw_only=True, slots=True)
class FindingText:
    """A finding in words: the problem and its remedy."""

    sentence: str
    remedy: str


def describe_prompt(prompt: Prompt) -> str:
    """Return the sentence that asks for a prompt."""
    match prompt.kind:
        case "call":
            return "Give your own call, once."
        case "exchange":
            return f"Give your exchange: {prompt.text}."
        case "answer":
            call, *exchange = (field.text for field in prompt.fields)
            return (
                f"{call} has called you. Say that call, then your exchange: {' '.join(exchange)}."
            )
        case "correction":
            return (
                f"The other station has your call as {prompt.misheard}. Say that it is wrong, then "
                "give your call."
            )
        case "suffix":
            return "You are asked for the suffix of your call again. Give it."
        case _:
            field = prompt.fields[-1]
            return f"You are asked for the {field.name} again. It is {field.text}."


def describe_verdict(review: Review) -> str:
    """Return a sentence that says whether the prompt was said correctly."""
    if not any(word.spoken for word in review.words):
        return "This take cannot be judged."
    if review.sure:
        return "Everything was said correctly." if review.right else "Not everything was correct."
    verdict = "Everything seems to be correct" if review.right else "Something seems to be wrong"
    return f"{verdict}, but the recogniser is not sure about every word."


def describe_finding(finding: Finding) -> FindingText:
    """Return a finding of a new review in words; findings of version 0.2.0 lack the words."""
    if finding.figure is not None:
        sentence, remedy = _FIGURE_TEXTS[finding.kind]
        text = sentence.format(figure=finding.figure, size=abs(finding.figure))
        return FindingText(sentence=text, remedy=remedy)
    if finding.kind == "unsure":
        (word,) = finding.words
        return FindingText(
            sentence=f"Perhaps {_describe_error(word)}.",
            remedy="The recogniser is not sure, so this may have been right. Say it again.",
        )
    if finding.kind in _ERROR_REMEDIES:
        (word,) = finding.words
        error = _describe_error(word)
        return FindingText(
            sentence=f"{error[:1].upper()}{error[1:]}.", remedy=_ERROR_REMEDIES[finding.kind]
        )
    sentence, remedy = _HABIT_TEXTS[finding.kind]
    text = sentence.format(
        means="".join(finding.about[:1]),
        spoken=" ".join(word.spoken for word in finding.words),
        listed=", ".join(word.spoken for word in finding.words),
        expected="".join(word.expected for word in finding.words[:1]),
        corrected=" ".join(word.expected or word.spoken for word in finding.words),
    )
    return FindingText(sentence=text, remedy=remedy)


def _describe_error(word: ReviewedWord) -> str:
    """Return the error in a word as a clause."""
    expected = word.expected
    if len(word.means) == 1:
        expected += f" ({word.means})"
    match word.result:
        case "wrong":
            return f"you said {word.spoken} instead of {expected}"
        case "missing":
            return f"{expected} was left out"
        case "extra":
            return f"you said {word.spoken}, which was not expected"
        case _:
            return f"{word.spoken} was said out of order"


_ERROR_REMEDIES: Mapping[str, str] = {
    "wrong": "Look at a character, say its word, then go to the next; slow down until it is easy.",
    "missing": "Say every character; the far station cannot guess one.",
    "extra": "Say only what is asked for.",
    "order": "Read from left to right; say it slowly twice, then at normal speed.",
}
_HABIT_TEXTS: Mapping[str, tuple[str, str]] = {
    "nothing": (
        "No word was recognised.",
        "Say it again, close to the microphone. If that does not help, look at the findings about "
        "the sound.",
    ),
    "form": (
        "For {means} you said {spoken}; the standard is {expected}.",
        "This is common on the air and usually copied; if it is not, use the standard word.",
    ),
    "again": (
        "You said this more than once: {spoken}.",
        "Once is enough while signals are good; say it twice when you are asked to.",
    ),
    "corrected": (
        "You corrected yourself: {corrected}.",
        "That is right: correct an error at once, then say the whole group again.",
    ),
    "filler": (
        "You said fillers between the words: {listed}.",
        "Pause silently instead; in noise a filler is mistaken for a word.",
    ),
    "unclear": (
        "Recognised without certainty: {spoken}.",
        "Practise these words one by one and say each to its end; noise covers the quiet parts.",
    ),
}
"""Sentence, with placeholders for words, and remedy for each kind."""
_FIGURE_TEXTS: Mapping[str, tuple[str, str]] = {
    "hurried": (
        "You speak {figure:.1f} syllables per second; in noise the words run together.",
        "Say every code word to its end, at an even 3 to 5 syllables per second.",
    ),
    "slow": (
        "You speak {figure:.1f} syllables per second; the longer an over lasts, the more of it "
        "is lost in fades.",
        "Say the words closer together, at 3 to 5 syllables per second, without haste.",
    ),
    "pause": (
        "Your longest pause between two words is {figure:.1f} s.",
        "Decide what to send before you begin; a long pause sounds like the end of the over.",
    ),
    "quiet": (
        "The microphone level is too low: your speech is at {figure:z.0f} dB re full scale.",
        "Raise the microphone gain, or move closer, until it is at -30 to -15 dB.",
    ),
    "clipped": (
        "The sound is clipped: {figure:.2%} of the samples are in flat tops.",
        "Lower the microphone gain until the loudest word stays below full scale.",
    ),
    "noisy": (
        "Between the words, the noise of the room is only {figure:z.0f} dB below your voice.",
        "Move closer to the microphone, lower its gain, and silence the source of the noise; the "
        "transmitter sends it too.",
    ),
    "hum": (
        "The sound contains mains hum at {figure:z.0f} dB relative to your voice.",
        "Look for a bad earth, a ground loop, or a power supply near the microphone cable.",
    ),
    "dull": (
        "Your voice sounds dull: 1500 to 2700 Hz are {size:.0f} dB weaker than 300 to 800 Hz.",
        "Raise the treble, or speak straight at the microphone; consonants carry the words.",
    ),
    "thin": (
        "Your voice sounds thin: 1500 to 2700 Hz are {size:.0f} dB stronger than 300 to 800 Hz.",
        "Raise the bass a little, or lower the treble, until words sound full again.",
    ),
    "outside": (
        "Only {figure:.0%} of your voice's power is between 300 and 2700 Hz, where SSB transmits.",
        "Cut the bass below 300 Hz, or move back a little from the microphone: the transmitter's "
        "filter removes it, but its level control reacts to it.",
    ),
}
"""Sentence, with placeholders for the figure, and remedy for each kind."""


def describe_change(change: ReviewChange, earlier: str) -> str:
    """Return a sentence about the changes since an earlier take.

    earlier: name of that take, such as "your first try".
    """
    parts = [
        f"{label}: {_finding_names(findings)}"
        for label, findings in (
            ("gone", change.gone),
            ("new", change.new),
            ("still there", change.stayed),
        )
        if findings
    ]
    return (
        f"Compared with {earlier}: {'; '.join(parts) or 'no findings in either'}; "
        f"{change.pace_wpm:+.0f} words per minute, level {change.level_db:+.0f} dB."
    )


def _finding_names(findings: Iterable[Finding]) -> str:
    names = []
    for finding in findings:
        about = f" ({' '.join(finding.about)})" if finding.about else ""
        names.append(f"{FINDING_LABELS[finding.kind]}{about}")
    return ", ".join(names)


def _behind_sentence(behind_db: Interval, operator: str) -> str:
    if behind_db.low <= 0 <= behind_db.high:
        half_db = (behind_db.high - behind_db.low) / 2
        return (
            f"No difference between your voice and {operator} is shown; differences below "
            f"{half_db:.1f} dB cannot be shown."
        )
    comparison = "worse" if behind_db.value > 0 else "better"
    low_db, high_db = sorted(map(abs, (behind_db.low, behind_db.high)))
    return (
        f"Your voice is {abs(behind_db.value):.1f} dB {comparison} than {operator} "
        f"(95 %: {low_db:.1f} to {high_db:.1f})."
    )


def describe_far_end(ends: FarEnds, review: Review) -> Iterator[str]:
    """Yield sentences that compare a take with the reference voice and locate the losses."""
    if review.delivered_share < MIN_DELIVERED_SHARE:
        yield f"Most of the prompt is missing, so this take is not compared with {ends.operator}."
        return
    if ends.behind_db is not None:
        yield _behind_sentence(ends.behind_db, ends.operator)
    weakest = ends.ends[-1]
    spoken = [
        WordTime(say=word.spoken, start_s=word.start_s, end_s=word.end_s)
        for word in review.words
        if word.spoken
    ]
    words = lost_words(weakest.correlation, spoken)
    if words:
        yield f"Most is lost at {weakest.watts:g} W in: {', '.join(words)}."
    if weakest.correlation.bands:
        worst_hz, _ = min(weakest.correlation.bands, key=lambda band: band[1])
        yield f"The loss is greatest around {worst_hz:.0f} Hz."
