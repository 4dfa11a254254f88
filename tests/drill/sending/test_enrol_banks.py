"""Learning a voice from word banks: whether it is kept, and the sentence about the gain."""

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.recogniser.own.adaptation import Adaptation
from drill.recogniser.own.enrolment import Enrolment
from drill.recogniser.own.model import load_model
from drill.records.store import Store
from drill.sending.enrol_banks import enrol_banks
from drill.sending.enrolled_voices import enrolled_names, used_voice
from drill.voices.wordbank.storage import Consent, create_bank

pytestmark = pytest.mark.usefixtures("home")


@pytest.mark.parametrize(
    ("counts", "kept", "sentence"),
    [
        ((37, 25, 34), True, "Of 37 words in mine, 25 were copied without noise before, and 34"),
        ((37, 30, 29), False, "Of 37 words in mine, 30 were copied without noise before, and 29"),
        ((0, 0, 0), True, "the gain cannot be tested"),
    ],
)
def test_a_voice_is_kept_if_nothing_became_worse(
    counts: tuple[int, int, int], kept: bool, sentence: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """counts: tested words, and how many of them are copied before and after learning."""
    words, before, after = counts
    adaptation = Adaptation(
        weights=np.zeros((2, 3), np.float32),
        bias=np.zeros(3, np.float32),
        model_digest=load_model().digest,
    )
    result = Enrolment(adaptation=adaptation, words=words, before=before, after=after)
    monkeypatch.setattr("drill.sending.enrol_banks.enrol_voice", lambda *_: result)
    create_bank("mine", Consent(speaker="Ada", at="2026-01-01T00:00:00+00:00"))
    with Store(record_file()) as store:
        learnt = enrol_banks(store, ["mine"])
        assert used_voice(store) == ("mine" if kept else None)
    assert (learnt.name, learnt.kept) == ("mine", kept)
    assert sentence in learnt.says[0]
    assert enrolled_names() == (("mine",) if kept else ())


def test_a_missing_bank_is_named() -> None:
    with Store(record_file()) as store, pytest.raises(UserError, match="no word bank 'mine'"):
        enrol_banks(store, ["mine"])
