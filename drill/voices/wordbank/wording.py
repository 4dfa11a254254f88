"""Sentences about recordings of words and about word banks, for terminal and page."""

from collections.abc import Sequence

from drill.voices.wordbank.background import BackgroundNoise, NoiseRating
from drill.voices.wordbank.cut import CutWord
from drill.voices.wordbank.faults import WordFault
from drill.voices.wordbank.storage import WordBank
from drill.voices.wordbank.words import WordGroup, word_groups

_MOST_EXAMPLES = 8
_RATINGS = {
    NoiseRating.QUIET: "quiet enough",
    NoiseRating.ACCEPTABLE: "acceptable, but a quieter room would be better",
    NoiseRating.NOISY: "too noisy: close the window, switch off fans, "
    "or move closer to the microphone",
}


def background_sentence(noise: BackgroundNoise) -> str:
    """Return a sentence about the background noise and its remedy."""
    if noise.rating is NoiseRating.SILENT:
        return "The microphone delivers silence; choose another input, or switch it on."
    hum = f" {noise.hum_hz:.0f} Hz mains hum, {noise.hum_db:.0f} dB." if noise.hum_hz else ""
    return f"Background noise {noise.level_db:.0f} dB: {_RATINGS[noise.rating]}.{hum}"


def measurements_text(word: CutWord) -> str:
    """Return length, level, peak and SNR of a recorded word, without a full stop."""
    text = f"{word.seconds:.2f} s, level {word.level_db:.0f} dB, peak {word.peak_db:.0f} dB"
    return text if word.snr_db is None else f"{text}, {word.snr_db:.0f} dB above the background"


def fault_text(fault: WordFault, word: CutWord) -> str:
    """Return the fault of a recorded word and its remedy, without a full stop."""
    return {
        WordFault.CLIPPED: "clipped: lower the input level, or move away from the microphone",
        WordFault.TOO_SOFT: f"too soft, {word.level_db:.0f} dB: move closer to the microphone, "
        "or raise the input level",
        WordFault.START_CUT_OFF: "cut off at the start: wait a moment before you speak",
        WordFault.END_CUT_OFF: "cut off at the end: leave a moment of silence after the word",
        WordFault.TOO_NOISY: f"too noisy: only {word.snr_db or 0:.0f} dB above the background",
        WordFault.SEVERAL_WORDS: "more than one word, or a pause within the word",
        WordFault.TOO_LONG: f"long: {word.seconds:.1f} s",
    }[fault]


def as_sentence(text: str) -> str:
    """Return the text with a capital letter at the start and a full stop at the end."""
    return f"{text[0].upper()}{text[1:]}."


def completeness_text(bank: WordBank) -> str:
    """Return how many words of a bank are recorded, without a full stop."""
    essential, *optional_groups = word_groups()
    recorded = sum(word in bank.words for word in essential.words)
    optional = sum(len(group.words) for group in optional_groups)
    return (
        f"{recorded} of {len(essential.words)} essential words, "
        f"{len(bank.words) - recorded} of {optional} optional words"
    )


def missing_words_text(missing: Sequence[str], group: WordGroup) -> str:
    """Return the words of a group that a bank lacks; only the first few of the optional words."""
    if len(missing) == len(group.words):
        return f"all {len(missing)}"
    if not group.optional or len(missing) <= _MOST_EXAMPLES:
        return ", ".join(missing)
    examples = ", ".join(missing[:_MOST_EXAMPLES])
    return f"{examples} and {len(missing) - _MOST_EXAMPLES} more"
