"""Prompts, reviews and far-end results of /api/speak as JSON."""

from collections.abc import Callable
from typing import Any

from drill.core.models import Clip
from drill.core.structuring import to_data
from drill.core.text_blocks import Passage
from drill.sending.describe import (
    INDEX_NOTE,
    describe_change,
    describe_far_end,
    describe_finding,
    describe_prompt,
    describe_verdict,
)
from drill.sending.far_end import FarEnds
from drill.sending.limits import FIGURE_LIMITS
from drill.sending.models import Finding, Prompt, Review, ReviewedWord
from drill.sending.review import compare_reviews

WORD_RESULTS = {
    "right": "right",
    "form": "means the same",
    "wrong": "wrong",
    "missing": "left out",
    "extra": "not expected",
    "order": "out of order",
    "again": "repeated",
    "corrected": "corrected by you",
    "filler": "filler",
    "procedure": "procedure word",
}
"""Result of one word by its `result`; see drill.sending.models.ReviewedWord."""
LAST_TAKE = "your last take of the same prompt"


def prompt_json(prompt: Prompt) -> dict[str, Any]:
    """Return a prompt with the ITU code words that say it."""
    return {
        "kind": prompt.kind,
        "seed": prompt.seed,
        "says": describe_prompt(prompt),
        "text": prompt.text,
        "words": [word.say for word in prompt.words],
    }


def review_json(review: Review, previous: Review | None, doubt: str) -> dict[str, Any]:
    """Return a review.

    previous: review of the last take of the same prompt, None if there is none. doubt: why the
    recogniser may not understand this voice, "" for no doubt.
    """
    return {
        "right": review.right,
        "sure": review.sure,
        "verdict": describe_verdict(review),
        "doubt": doubt,
        "words": [_word_json(word) for word in review.words],
        "findings": [_finding_json(finding) for finding in review.findings],
        "tables": [
            {
                "caption": "The take in figures",
                "head": ["figure", "yours", "recommended"],
                "rows": figure_rows(review),
            }
        ],
        "change": None
        if previous is None
        else describe_change(compare_reviews(previous, review), LAST_TAKE),
        "listener": review.recogniser,
    }


def _finding_json(finding: Finding) -> dict[str, Any]:
    text = describe_finding(finding)
    return {
        "name": finding.kind,
        "weight": finding.severity,
        "says": text.sentence,
        "remedy": text.remedy,
    }


def _word_json(word: ReviewedWord) -> dict[str, Any]:
    result = WORD_RESULTS[word.result]
    return {
        "expected": word.expected,
        "recognised": word.spoken,
        "means": word.means,
        "kind": word.result,
        "sure": word.sure,
        "result": result if word.sure else f"{result}, not sure",
    }


def figure_rows(review: Review) -> list[list[str]]:
    """Return rows of three cells: name of the figure, its value in this take, recommended range."""
    sound = review.sound
    pace = f"{review.pace_wpm:.0f}" if review.pace_wpm > 0 else "too few words"
    noise = (
        "no quiet part"
        if sound.speech_to_noise_db is None
        else f"{sound.speech_to_noise_db:.0f} dB"
    )
    hum = (
        "none"
        if sound.hum_to_speech_db is None
        else f"{sound.hum_to_speech_db:.0f} dB at {sound.mains_hz:g} Hz"
    )
    return [
        ["words per minute", pace, ""],
        ["syllables per second", f"{review.syllables_per_s:.1f}", recommended("slow", "hurried")],
        ["longest pause", f"{review.longest_pause_s:.1f} s", recommended("pause", "pause")],
        ["speech level", f"{sound.level_db:.0f} dB re full scale", recommended("quiet", "quiet")],
        ["peak", f"{sound.peak_db:.0f} dB re full scale", "below 0 dB"],
        ["clipping", f"{100 * sound.clipped_share:.2f} % of samples", "none"],
        ["speech above noise", noise, recommended("noisy", "noisy")],
        ["mains hum relative to speech", hum, recommended("hum", "hum")],
        [
            "treble relative to bass",
            f"{sound.treble_to_bass_db:+.0f} dB",
            recommended("dull", "thin"),
        ],
    ]


def recommended(low: str, high: str) -> str:
    """Return the recommended range from the lower limit `low` to the upper limit `high`.

    low, high: keys of drill.sending.limits.FIGURE_LIMITS.
    """
    least, most = FIGURE_LIMITS[low].low, FIGURE_LIMITS[high].high
    if least is None:
        return f"at most {most:g}"
    return f"at least {least:g}" if most is None else f"{least:g} to {most:g}"


def far_json(
    ends: FarEnds, review: Review, copies: Passage | None, add_sound: Callable[[Clip], str]
) -> dict[str, Any]:
    """Return a take as it arrives at the far end.

    copies: the recogniser's copies there, None without a recogniser. add_sound: stores a clip and
    returns its URL.
    """
    return {
        "copies": None if copies is None else to_data(copies),
        "label": INDEX_NOTE,
        "operator": ends.operator,
        "sentences": list(describe_far_end(ends, review)),
        "ends": [
            {
                "watts": end.watts,
                "snr_db": end.snr_db,
                "index": round(end.index, 3),
                "reference": round(end.reference_index, 3),
                "take": add_sound(end.clip),
                "voice": add_sound(end.reference_clip),
            }
            for end in ends.ends
        ],
    }
