"""The modelled hearing compared with psychometric data and binomial probabilities.

Sources: 50 % of whole calls of five characters are copied near -5 to 0 dB SNR in 3 kHz, and the
share rises by 8 to 12 % per dB there: converted from published thresholds of code words in noise,
as the notes of this project give them (no single source). Independent tries add up as binomial
probabilities.
"""

import math
import re
from pathlib import Path
from random import Random

import numpy as np
import pytest
from scipy.stats import binom

from drill.contact.air import ArrivedVoice, ArrivedWord, Reception
from drill.contact.hearing import HeardOver
from drill.contact.model_ears import CONFUSED_WITH, ModelEars
from drill.contact.values import load_values
from phonetics.alphabets import spell
from phonetics.message import Word

VALUES = load_values().ears
RECOGNISER = load_values().recogniser
MEASURED = Path(__file__).parents[2] / "measured" / "contact.md"
TRIES = 4000


def ears(offset_db: float = 0.0) -> ModelEars:
    return ModelEars(VALUES, offset_db, lambda speaker, number: Random(f"{speaker} {number}"))


def listen(
    words: tuple[Word, ...], snr_db: float, number: int, *, crowded: bool = False
) -> HeardOver:
    arrived = tuple(
        ArrivedWord(word=word, start_s=k * 0.5, end_s=k * 0.5 + 0.4, snr_db=snr_db, crowded=crowded)
        for k, word in enumerate(words)
    )
    voice = ArrivedVoice(
        speaker="trainee", number=number, start=0, end=1, words=arrived, level_db=snr_db
    )
    return ears().listen(Reception(start=0, end=1, voices=(voice,)))[0]


def call_share(snr_db: float, tries: int = 1) -> float:
    """Return the share of five-character calls that are complete after a number of tries."""
    words = spell("E8ABC", rng=Random(0))
    right = 0
    for number in range(TRIES):
        copied: set[int] = set()
        for attempt in range(tries):
            tokens = listen(words, snr_db, number * 10 + attempt).tokens
            copied |= {k for k, token in enumerate(tokens) if token.text == words[k].means}
        right += len(copied) == len(words)
    return right / TRIES


def test_whole_calls_have_the_stated_threshold_and_slope() -> None:
    word = np.array([ears().word_probability(snr_db) for snr_db in np.arange(-12, 6, 0.01)])
    calls = word**5
    x50_db = float(np.interp(0.5, calls, np.arange(-12, 6, 0.01)))
    slope = float(np.interp(x50_db + 0.5, np.arange(-12, 6, 0.01), calls)) - float(
        np.interp(x50_db - 0.5, np.arange(-12, 6, 0.01), calls)
    )
    assert -5 <= x50_db <= 0
    assert 0.08 <= slope <= 0.12
    assert call_share(x50_db) == pytest.approx(0.5, abs=3 * 0.5 / math.sqrt(TRIES))


def test_the_recognisers_figures_fit_its_measured_table() -> None:
    """values.toml fits the measured table; tests/tools/contact_ears.py writes both."""
    fitted = ModelEars(RECOGNISER, 0.0, lambda speaker, number: Random(0))
    table = MEASURED.read_text("utf-8").partition("<!-- ears -->")[2]
    rows = re.findall(r"(?m)^\| ([+-]\d+) \| (\d+) % of \d+ \|", table)
    assert len(rows) == 7
    for snr_db, copied in rows:
        share = 100 * fitted.word_probability(float(snr_db))
        assert share == pytest.approx(float(copied), abs=8), snr_db


def test_evidence_adds_up_over_repeats() -> None:
    snr_db = -7.6
    p = ears().word_probability(snr_db)
    for tries in (1, 2, 3):
        missed = float(binom.pmf(0, tries, p))
        expected = (1 - missed) ** 5
        spread = math.sqrt(expected * (1 - expected) / TRIES)
        assert call_share(snr_db, tries) == pytest.approx(expected, abs=4 * spread)


@pytest.mark.parametrize(
    ("crowded", "share"), [(False, VALUES.wrong_in_noise), (True, VALUES.wrong_under_voices)]
)
def test_the_share_of_mistaken_words(crowded: bool, share: float) -> None:
    words = spell("B" * 5, rng=Random(0))
    texts = [
        token.text
        for number in range(TRIES)
        for token in listen(words, -60, number, crowded=crowded).tokens
    ]
    mistaken = sum(text == CONFUSED_WITH["B"] for text in texts) / len(texts)
    assert mistaken == pytest.approx(share, abs=4 * math.sqrt(share / len(texts)))
    assert not any(text == "B" for text in texts)


def test_more_snr_never_loses_a_word() -> None:
    words = spell("E87ABC", rng=Random(0))
    for number in range(200):
        weak, strong = (listen(words, snr_db, number).tokens for snr_db in (-8.0, -2.0))
        for word, low, high in zip(words, weak, strong, strict=True):
            if low.text == word.means:
                assert high.text == word.means


def test_a_missed_procedure_word_leaves_no_gap() -> None:
    words = (Word(say="thank"), Word(say="you"), Word(say="five", means="5"))
    assert [token.text for token in listen(words, -60, 1).tokens] == [""]


def test_the_threshold_of_a_station_is_shifted() -> None:
    assert ears(2.0).word_probability(2.0) == pytest.approx(ears().word_probability(0.0))
