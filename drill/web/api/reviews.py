"""Prompts, reviews and far-end results of /api/speak as JSON."""

from collections.abc import Callable
from typing import Any

from drill.core.models import Clip
from drill.sending.describe import changed, far_told, verdict
from drill.sending.far import FarEnds
from drill.sending.limits import LIMITS
from drill.sending.models import Heard, Prompt, Review
from drill.sending.review import change

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
"""Result of one word by its kind; see drill.sending.models.Heard."""
LAST_TAKE = "your last take of the same prompt"


def prompt_json(prompt: Prompt) -> dict[str, Any]:
    """Return a prompt with the ITU code words that say it."""
    return {
        "kind": prompt.kind,
        "seed": prompt.seed,
        "says": prompt.says,
        "text": prompt.text,
        "words": [word.say for word in prompt.words],
    }


def review_json(review: Review, previous: Review | None) -> dict[str, Any]:
    """Return a review.

    previous: review of the last take of the same prompt, None if there is none.
    """
    return {
        "right": review.right,
        "sure": review.sure,
        "verdict": verdict(review),
        "heard": [_word_json(word) for word in review.heard],
        "findings": [
            {
                "name": finding.name,
                "weight": finding.weight,
                "says": finding.says,
                "remedy": finding.remedy,
            }
            for finding in review.findings
        ],
        "tables": [
            {
                "caption": "The take in figures",
                "head": ["figure", "yours", "recommended"],
                "rows": figure_rows(review),
            }
        ],
        "change": None if previous is None else changed(change(previous, review), LAST_TAKE),
        "listener": review.listener,
    }


def _word_json(word: Heard) -> dict[str, Any]:
    result = WORD_RESULTS[word.kind]
    return {
        "wanted": word.wanted,
        "said": word.say,
        "means": word.means,
        "kind": word.kind,
        "sure": word.sure,
        "tells": result if word.sure else f"{result}, not sure",
    }


def figure_rows(review: Review) -> list[list[str]]:
    """Return rows of three cells: a figure's name, its value in this take, what is recommended."""
    sound = review.sound
    pace = f"{review.pace_wpm:.0f}" if review.pace_wpm > 0 else "too few words"
    noise = "no quiet part" if sound.noise_db is None else f"{sound.noise_db:.0f} dB"
    hum = "none" if sound.hum_db is None else f"{sound.hum_db:.0f} dB at {sound.mains_hz:g} Hz"
    return [
        ["words per minute", pace, ""],
        ["syllables per second", f"{review.syllables_s:.1f}", recommended("slow", "hurried")],
        ["longest pause", f"{review.longest_pause_s:.1f} s", recommended("pause", "pause")],
        ["speech level", f"{sound.level_db:.0f} dB re full scale", recommended("quiet", "quiet")],
        ["peak", f"{sound.peak_db:.0f} dB re full scale", "below 0 dB"],
        ["clipping", f"{100 * sound.clipped:.2f} % of samples", "none"],
        ["speech above noise", noise, recommended("noisy", "noisy")],
        ["mains hum relative to speech", hum, recommended("hum", "hum")],
        ["treble relative to bass", f"{sound.balance_db:+.0f} dB", recommended("dull", "thin")],
    ]


def recommended(low: str, high: str) -> str:
    """Return the recommended range from the lower limit `low` to the upper limit `high`.

    low, high: keys of drill.sending.limits.LIMITS.
    """
    least, most = LIMITS[low].low, LIMITS[high].high
    if least is None:
        return f"at most {most:g}"
    return f"at least {least:g}" if most is None else f"{least:g} to {most:g}"


def far_json(ends: FarEnds, review: Review, add_sound: Callable[[Clip], str]) -> dict[str, Any]:
    """Return a take as it arrives at the far end. add_sound: stores a clip, returns its URL."""
    return {
        "label": ends.label,
        "operator": ends.operator,
        "sentences": list(far_told(ends, review)),
        "ends": [
            {
                "watts": end.watts,
                "snr_db": end.snr_db,
                "index": round(end.index, 3),
                "reference": round(end.reference, 3),
                "take": add_sound(end.clip),
                "voice": add_sound(end.reference_clip),
            }
            for end in ends.ends
        ],
    }
