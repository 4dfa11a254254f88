"""From a take to its review: words, pace and sound, each finding with what to do about it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from drill.recogniser import RecognisedWord, Recogniser, find_recogniser
from drill.recogniser.phones import count_syllables
from drill.sending.hearing import hear
from drill.sending.limits import LIMITS, beyond
from drill.sending.models import ADVICE, FAULT, UNSURE, Finding, Heard, Review, Sound, Take
from drill.sending.sound_quality import check, measure
from phonetics.numerals import digit_word
from phonetics.over_style import OverStyle

SHORT_S = 2.5
"""A take of a word or two is at no pace."""
ICAO = frozenset(digit_word(digit, OverStyle(figures="icao")) for digit in "123456789")
"""As standard as plain figures: ICAO Annex 10 Volume II, 5.2.1.4.3.1."""
AROUND = frozenset({"procedure", "filler"})
FINE = frozenset({"right", "form", "again", "procedure", "filler"})
ORDER = {FAULT: 0, UNSURE: 1, ADVICE: 2}


def review(take: Take, listener: Recogniser | None = None) -> Review:
    """Return what a take shows; None: the usual listener.

    Raises: UserError where the take is silent, too short or too long; NoRecogniser.
    """
    level = check(take.clip)
    listener = find_recogniser() if listener is None else listener
    words, heard = hear(take, listener)
    sound = measure(take.clip, words)
    pace_wpm, syllables_s, pause_s = pace(words)
    if not words:  # too quick to follow, perhaps: the time that the voice is on tells
        spoken = sum(count_syllables(word.say) for word in take.prompt.words)
        syllables_s = spoken / (level.activity * take.clip.seconds)
    figures = _figures(sound, syllables_s if len(words) != 1 else None, pause_s)
    if not all(LIMITS[name].passed(figures[name]) for name in ("hurried", "noisy")):
        # Beyond what the listener follows, what it made out is no ground for a verdict.
        heard = tuple(replace(one, sure=one.sure and one.kind in FINE) for one in heard)
    found = [*_words(take, heard), *beyond(figures)]
    found.sort(key=lambda finding: ORDER[finding.weight])
    wrong = [one for one in heard if one.kind in ("wrong", "missing", "extra", "order")]
    return Review(
        right=bool(words) and not wrong,
        sure=bool(words) and all(one.sure for one in heard if one.kind not in AROUND),
        heard=heard,
        findings=tuple(found),
        pace_wpm=round(pace_wpm, 1),
        syllables_s=round(syllables_s, 2),
        longest_pause_s=round(pause_s, 2),
        sound=sound,
        listener=f"{listener.name} {listener.version}",
    )


def pace(words: Sequence[RecognisedWord]) -> tuple[float, float, float]:
    """Return words a minute and syllables a second from first to last, and the longest pause in s.

    All are 0 for fewer than two words.
    """
    if len(words) < 2:
        return 0.0, 0.0, 0.0
    pauses = [after.start_s - word.end_s for word, after in pairwise(words)]
    whole_s = max(0.1, words[-1].end_s - words[0].start_s)
    spoken = sum(count_syllables(word.say) for word in words)
    return 60 * len(words) / whole_s, spoken / whole_s, max(0.0, *pauses)


def _figures(sound: Sound, syllables_s: float | None, pause_s: float) -> dict[str, float | None]:
    return {
        "hurried": syllables_s,
        "slow": syllables_s if sound.seconds > SHORT_S else None,
        "pause": pause_s,
        "quiet": sound.level_db,
        "clipped": sound.clipped,
        "noisy": sound.noise_db,
        "hum": sound.hum_db,
        "dull": sound.balance_db,
        "thin": sound.balance_db,
        "outside": sound.passed,
    }


def _words(take: Take, heard: Sequence[Heard]) -> Iterator[Finding]:
    """Give the findings about the words."""
    if not any(one.say for one in heard):
        yield Finding(
            name="nothing",
            weight=UNSURE,
            says="No word of what was wanted was made out.",
            remedy="Say it once more, close to the microphone; if that does not help, look at the "
            "sound below.",
        )
        return
    for kind in ("wrong", "missing", "extra", "order"):
        yield from _mistakes(kind, [one for one in heard if one.kind == kind])
    yield from _habits(heard)


def _mistakes(kind: str, found: Sequence[Heard]) -> Iterator[Finding]:
    says = {
        "wrong": "You said {say} where {wanted}{means} was wanted.",
        "missing": "{wanted}{means} was left out.",
        "extra": "You said {say} where nothing was wanted.",
        "order": "{say} came out of its order.",
    }
    remedy = {
        "wrong": "Look at the character, say its word, then the next; slower until it sits.",
        "missing": "Say every character; the far station cannot guess one.",
        "extra": "Say what is asked and nothing else in between.",
        "order": "Read it from left to right; say it slowly twice, then at pace.",
    }
    for one in found:
        means = f" for {one.means}" if one.means and len(one.means) == 1 else ""
        text = says[kind].format(say=one.say, wanted=one.wanted, means=means)
        text = text[:1].upper() + text[1:]
        if not one.sure:
            yield Finding(
                name="unsure",
                weight=UNSURE,
                says=text,
                remedy="The listener could not make it out; it may have been right. Say it again.",
                about=(one.means or one.say,),
            )
            continue
        yield Finding(
            name=kind, weight=FAULT, says=text, remedy=remedy[kind], about=(one.means or one.say,)
        )


def _habits(heard: Sequence[Heard]) -> Iterator[Finding]:
    """Give advice: other forms, repeats, corrections, fillers; and what was right but unclear."""
    forms: dict[tuple[str, str], list[str]] = {}
    for one in heard:
        if one.kind == "form" and one.sure and one.say not in ICAO:
            forms.setdefault((one.means, one.wanted), []).append(one.say)
    for (means, standard), said in forms.items():
        yield Finding(
            name="form",
            weight=ADVICE,
            says=f"For {means} you said {' '.join(said)}; the standard is {standard}.",
            remedy="Common on the air, and often copied; where it is not, say the standard word.",
            about=(means,),
        )
    again = [one.say for one in heard if one.kind == "again"]
    if again:
        yield Finding(
            name="again",
            weight=ADVICE,
            says=f"Said more than once: {' '.join(again)}.",
            remedy="Once is enough while signals are good; say it twice when you are asked to.",
            about=tuple(again),
        )
    corrected = [one for one in heard if one.kind == "corrected"]
    if corrected:
        yield Finding(
            name="corrected",
            weight=ADVICE,
            says=f"You put {' '.join(one.wanted or one.say for one in corrected)} right yourself.",
            remedy="Good: correct it at once, and say the whole group again after it.",
            about=tuple(one.means or one.say for one in corrected),
        )
    fillers = [one.say for one in heard if one.kind == "filler" and one.sure]
    if fillers:
        yield Finding(
            name="filler",
            weight=ADVICE,
            says=f"Fillers between the words: {', '.join(fillers)}.",
            remedy="Breathe instead; a filler in noise is taken for a word.",
            about=tuple(fillers),
        )
    unclear = [one for one in heard if one.kind in ("right", "form", "again") and not one.sure]
    if unclear:
        yield Finding(
            name="unclear",
            weight=UNSURE,
            says=f"Not made out with certainty: {' '.join(one.say for one in unclear)}.",
            remedy="Say these words by themselves, to their ends; a listener in noise has less.",
            about=tuple(one.means for one in unclear),
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Change:
    """What is other in a second review: findings that are gone, that are new, that stay; pace."""

    gone: tuple[str, ...]
    new: tuple[str, ...]
    stayed: tuple[str, ...]
    pace_wpm: float
    level_db: float


def change(before: Review, after: Review) -> Change:
    """Return the change from one review of a prompt to another."""

    def named(one: Review) -> dict[str, None]:
        return {f"{found.name} {' '.join(found.about)}".strip(): None for found in one.findings}

    first, second = named(before), named(after)
    return Change(
        gone=tuple(name for name in first if name not in second),
        new=tuple(name for name in second if name not in first),
        stayed=tuple(name for name in second if name in first),
        pace_wpm=round(after.pace_wpm - before.pace_wpm, 1),
        level_db=round(after.sound.level_db - before.sound.level_db, 1),
    )
