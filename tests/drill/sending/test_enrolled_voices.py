"""Learnt voices on disk: kept, used, refused if the model has changed, and deleted."""

from pathlib import Path

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.recogniser import find_recogniser
from drill.recogniser.own.adaptation import Adaptation
from drill.recogniser.own.model import load_model
from drill.records.store import Store
from drill.sending.enrolled_voices import (
    NO_VOICE,
    delete_voice,
    enrolled_names,
    keep_voice,
    take_recogniser,
    use_voice,
    used_voice,
    voices_folder,
)

pytestmark = pytest.mark.usefixtures("home")


def adaptation(digest: str) -> Adaptation:
    return Adaptation(
        weights=np.zeros((192, 298), np.float32), bias=np.zeros(298, np.float32),
        model_digest=digest,
    )  # fmt: skip


def test_without_a_learnt_voice_the_plain_recogniser_is_used() -> None:
    with Store(record_file()) as store:
        assert used_voice(store) is None
        assert take_recogniser(store) is find_recogniser("own")


def test_a_kept_voice_is_used_until_another_choice_or_its_deletion() -> None:
    with Store(record_file()) as store:
        keep_voice(store, "mine", adaptation(load_model().digest))
        keep_voice(store, "club", adaptation(load_model().digest))
        assert enrolled_names() == ("club", "mine")
        assert used_voice(store) == "club"
        assert take_recogniser(store) is not find_recogniser("own")
        use_voice(store, NO_VOICE)
        assert take_recogniser(store) is find_recogniser("own")
        use_voice(store, "mine")
        delete_voice(store, "mine")
        assert enrolled_names() == ("club",)
        assert used_voice(store) is None


def test_a_voice_of_an_earlier_model_is_refused() -> None:
    with Store(record_file()) as store:
        keep_voice(store, "mine", adaptation("of an earlier model"))
        with pytest.raises(UserError, match="faintcall enrol mine"):
            take_recogniser(store)


@pytest.mark.parametrize("action", [use_voice, delete_voice])
def test_an_unknown_voice_is_named(action: object) -> None:
    assert callable(action)
    with Store(record_file()) as store, pytest.raises(UserError, match="no voice 'other'"):
        action(store, "other")


def test_a_lost_file_is_named() -> None:
    with Store(record_file()) as store:
        keep_voice(store, "mine", adaptation(load_model().digest))
        Path(voices_folder() / "mine.npz").unlink()
        with pytest.raises(UserError, match="no voice 'mine'"):
            take_recogniser(store)
