"""Reviews of takes, and takes at the far end, as the page shows them."""

from collections.abc import Callable
from typing import Any

from drill.core.models import Clip
from drill.sending.describe import changed, far_told, verdict
from drill.sending.far import FarEnds
from drill.sending.limits import LIMITS
from drill.sending.models import Heard, Prompt, Review
from drill.sending.review import change

KINDS = {
    "right": "right",
    "form": "means the same",
    "wrong": "wrong",
    "missing": "left out",
    "extra": "not wanted",
    "order": "out of order",
    "again": "said again",
    "corrected": "put right by you",
    "filler": "filler",
    "procedure": "procedure word",
}
LAST = "your last take of the same"
HEAD = ("figure", "yours", "fine")


def prompt_json(asked: Prompt) -> dict[str, Any]:
    """Return a prompt, and the words that say it by the ITU's table."""
    return {
        "kind": asked.kind,
        "seed": asked.seed,
        "says": asked.says,
        "text": asked.text,
        "words": [word.say for word in asked.words],
    }


def review_json(found: Review, before: Review | None) -> dict[str, Any]:
    """Return a review; before: that of the last take of the same, None for none."""
    return {
        "right": found.right,
        "sure": found.sure,
        "verdict": verdict(found),
        "heard": [_heard(one) for one in found.heard],
        "findings": [
            {"name": one.name, "weight": one.weight, "says": one.says, "remedy": one.remedy}
            for one in found.findings
        ],
        "tables": [
            {"caption": "The take in figures", "head": list(HEAD), "rows": list(figures(found))}
        ],
        "change": None if before is None else changed(change(before, found), LAST),
        "listener": found.listener,
    }


def _heard(one: Heard) -> dict[str, Any]:
    told = KINDS[one.kind]
    return {
        "wanted": one.wanted,
        "said": one.say,
        "means": one.means,
        "kind": one.kind,
        "sure": one.sure,
        "tells": told if one.sure else f"{told}, not sure",
    }


def figures(found: Review) -> list[list[str]]:
    """Return the figures of a take, each with what is fine."""
    sound = found.sound
    paced = found.pace_wpm > 0
    hum = "none" if sound.hum_db is None else f"{sound.hum_db:.0f} dB at {sound.mains_hz:g} Hz"
    return [
        ["words a minute", f"{found.pace_wpm:.0f}" if paced else "too few words", ""],
        ["syllables a second", f"{found.syllables_s:.1f}", fine("slow", "hurried")],
        ["longest pause", f"{found.longest_pause_s:.1f} s", fine("pause", "pause")],
        ["level of the voice", f"{sound.level_db:.0f} dB of full scale", fine("quiet", "quiet")],
        ["peak", f"{sound.peak_db:.0f} dB of full scale", "below 0 dB"],
        ["clipped", f"{100 * sound.clipped:.2f} % of samples", "none"],
        [
            "noise below the voice",
            "no quiet part" if sound.noise_db is None else f"{sound.noise_db:.0f} dB",
            fine("noisy", "noisy"),
        ],
        ["mains hum against the voice", hum, fine("hum", "hum")],
        ["highs against lows", f"{sound.balance_db:+.0f} dB", fine("dull", "thin")],
    ]


def fine(low: str, high: str) -> str:
    """Return from where to where a figure is fine, by the names of its limits."""
    least, most = LIMITS[low].low, LIMITS[high].high
    if least is None:
        return f"at most {most:g}"
    return f"at least {least:g}" if most is None else f"{least:g} to {most:g}"


def far_json(ends: FarEnds, found: Review, keep: Callable[[Clip], str]) -> dict[str, Any]:
    """Return a take at the far end. keep: takes a sound and returns its address."""
    return {
        "label": ends.label,
        "operator": ends.operator,
        "sentences": list(far_told(ends, found)),
        "ends": [
            {
                "watts": end.watts,
                "snr_db": end.snr_db,
                "index": round(end.index, 3),
                "reference": round(end.reference, 3),
                "take": keep(end.clip),
                "voice": keep(end.reference_clip),
            }
            for end in ends.ends
        ],
    }
