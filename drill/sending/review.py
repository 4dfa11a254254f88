"""Reviews a take: recognises its words, measures speaking rate and sound, collects findings."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from drill.recogniser import RecognisedWord, Recogniser, find_recogniser
from drill.recogniser.phones import count_syllables
from drill.sending.findings import word_findings
from drill.sending.limits import FIGURE_LIMITS, figure_findings
from drill.sending.models import (
    ADVICE,
    ERROR_RESULTS,
    FAULT,
    UNSURE,
    Finding,
    Review,
    SoundQuality,
    Take,
)
from drill.sending.recognition import recognise_take
from drill.sending.sound_quality import check_take_clip, measure_sound_quality

MIN_SECONDS_FOR_SLOW = 2.5
"""A take of fewer words is too short to be called slow."""
MIN_WORDS_FOR_HURRIED = 4
"""The ends of words are recognised to about 0.1 s, which matters too much in shorter takes."""
WORDS_AROUND = frozenset({"procedure", "filler"})
RESULTS_WITHOUT_ERROR = frozenset({"right", "form", "again", "procedure", "filler"})
SEVERITY_ORDER = {FAULT: 0, UNSURE: 1, ADVICE: 2}


@dataclass(frozen=True, kw_only=True, slots=True)
class SpeakingRate:
    """Speaking rate of a take, from the first word to the last; all 0 for fewer than two words.

    pace_wpm: words per minute. syllables_per_s: syllables per second. longest_pause_s: between two
    words.
    """

    pace_wpm: float = 0.0
    syllables_per_s: float = 0.0
    longest_pause_s: float = 0.0


def review_take(take: Take, recogniser: Recogniser | None = None) -> Review:
    """Return the review of a take. recogniser: None for the default one.

    Raises: UserError if the take is silent, too short or too long; NoRecogniser.
    """
    speech = check_take_clip(take.clip)
    recogniser = find_recogniser() if recogniser is None else recogniser
    recognised, words = recognise_take(take, recogniser)
    sound = measure_sound_quality(take.clip, recognised)
    rate = measure_speaking_rate(recognised)
    if not recognised:
        # The take may be too fast to be recognised: estimate the rate from the duration of speech.
        syllables = sum(count_syllables(word.say) for word in take.prompt.words)
        rate = replace(rate, syllables_per_s=syllables / (speech.activity * take.clip.seconds))
    figures = _figures(sound, rate, len(recognised))
    if not all(FIGURE_LIMITS[kind].allows(figures[kind]) for kind in ("hurried", "noisy")):
        # Speech that is too fast or too noisy is recognised badly, so no error is reported as
        # certain.
        words = tuple(
            replace(word, sure=word.sure and word.result in RESULTS_WITHOUT_ERROR) for word in words
        )
    findings = [*word_findings(words), *figure_findings(figures)]
    findings.sort(key=lambda finding: SEVERITY_ORDER[finding.severity])
    return Review(
        right=bool(recognised) and not any(word.result in ERROR_RESULTS for word in words),
        sure=bool(recognised)
        and all(word.sure for word in words if word.result not in WORDS_AROUND),
        words=words,
        findings=tuple(findings),
        pace_wpm=round(rate.pace_wpm, 1),
        syllables_per_s=round(rate.syllables_per_s, 2),
        longest_pause_s=round(rate.longest_pause_s, 2),
        sound=sound,
        recogniser=f"{recogniser.name} {recogniser.version}",
    )


def measure_speaking_rate(words: Sequence[RecognisedWord]) -> SpeakingRate:
    """Return the speaking rate of recognised words."""
    if len(words) < 2:
        return SpeakingRate()
    pauses_s = [following.start_s - word.end_s for word, following in pairwise(words)]
    seconds = max(0.1, words[-1].end_s - words[0].start_s)
    syllables = sum(count_syllables(word.say) for word in words)
    return SpeakingRate(
        pace_wpm=60 * len(words) / seconds,
        syllables_per_s=syllables / seconds,
        longest_pause_s=max(0.0, *pauses_s),
    )


def _figures(sound: SoundQuality, rate: SpeakingRate, word_count: int) -> dict[str, float | None]:
    """Return the figure for each limit of FIGURE_LIMITS, None if the limit does not apply.

    word_count: number of recognised words. If it is 0, the rate is an estimate, and its limits
    apply.
    """
    is_short = word_count == 1 or sound.seconds <= MIN_SECONDS_FOR_SLOW
    is_too_short_to_hurry = 0 < word_count < MIN_WORDS_FOR_HURRIED
    return {
        "hurried": None if is_too_short_to_hurry else rate.syllables_per_s,
        "slow": None if is_short else rate.syllables_per_s,
        "pause": rate.longest_pause_s,
        "quiet": sound.level_db,
        "clipped": sound.clipped_share,
        "noisy": sound.speech_to_noise_db,
        "hum": sound.hum_to_speech_db,
        "dull": sound.treble_to_bass_db,
        "thin": sound.treble_to_bass_db,
        "outside": sound.passband_share,
    }


@dataclass(frozen=True, kw_only=True, slots=True)
class ReviewChange:
    """The changes from an earlier review of a prompt to a later one.

    gone: findings of the earlier review only. new: findings of the later review only. stayed:
    findings of both. pace_wpm, level_db: change of words per minute and of the speech level.
    """

    gone: tuple[Finding, ...]
    new: tuple[Finding, ...]
    stayed: tuple[Finding, ...]
    pace_wpm: float
    level_db: float


def compare_reviews(earlier: Review, later: Review) -> ReviewChange:
    """Return the change from one review of a prompt to a later one."""
    before = {(finding.kind, finding.about): finding for finding in earlier.findings}
    after = {(finding.kind, finding.about): finding for finding in later.findings}
    return ReviewChange(
        gone=tuple(finding for key, finding in before.items() if key not in after),
        new=tuple(finding for key, finding in after.items() if key not in before),
        stayed=tuple(finding for key, finding in after.items() if key in before),
        pace_wpm=round(later.pace_wpm - earlier.pace_wpm, 1),
        level_db=round(later.sound.level_db - earlier.sound.level_db, 1),
    )
