"""The command `enrol`: learning a voice, using it, forgetting it."""

from pathlib import Path

import numpy as np
import pytest

from drill.cli import main
from drill.core.paths import record_file
from drill.recogniser.own.adaptation import Adaptation
from drill.recogniser.own.enrolment import Enrolment, Recordings
from drill.recogniser.own.model import load_model
from drill.records.store import Store
from drill.sending.enrolled_voices import enrolled_names, used_voice
from drill.voices.wordbank.storage import Consent, create_bank, save_word

pytestmark = pytest.mark.usefixtures("home")


def learnt(before: int, after: int, words: int = 37) -> Enrolment:
    adaptation = Adaptation(
        weights=np.zeros((2, 3), np.float32), bias=np.zeros(3, np.float32),
        model_digest=load_model().digest,
    )  # fmt: skip
    return Enrolment(adaptation=adaptation, words=words, before=before, after=after)


@pytest.fixture
def banks(home: Path) -> None:
    """Store two banks with one word each."""
    for name in ("mine", "mine-2"):
        bank = create_bank(name, Consent(speaker="A. Speaker", at="2026-01-01T00:00:00+00:00"))
        samples = np.random.default_rng(1).normal(0, 0.1, 12_000).astype(np.float32)
        save_word(bank, "alfa", samples, 0.5)


def let_enrol_return(monkeypatch: pytest.MonkeyPatch, result: Enrolment) -> list[list[Recordings]]:
    """Replace learning by a fixed result; return the list of recordings that it is called with."""
    calls: list[list[Recordings]] = []

    def enrol(takes: list[Recordings], *_: object) -> Enrolment:
        calls.append(takes)
        return result

    monkeypatch.setattr("drill.sending.enrol_banks.enrol_voice", enrol)
    return calls


@pytest.mark.usefixtures("banks")
def test_a_voice_is_learnt_used_and_forgotten(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    calls = let_enrol_return(monkeypatch, learnt(before=25, after=34))
    assert main(["enrol", "mine", "mine-2"]) == 0
    assert [list(take) for take in calls[0]] == [["alfa"], ["alfa"]]
    out = capsys.readouterr().out
    assert "Of 37 words in mine-2, 25 were copied without noise before, and 34 after" in out
    with Store(record_file()) as store:
        assert used_voice(store) == "mine"
    assert main(["enrol", "--list"]) == 0
    assert "mine, used by faintcall speak" in capsys.readouterr().out
    assert main(["enrol", "--use", "none"]) == 0
    assert "uses no learnt voice" in capsys.readouterr().out
    assert main(["enrol", "mine", "--delete"]) == 0
    assert enrolled_names() == ()


@pytest.mark.usefixtures("banks")
def test_a_learnt_voice_that_copies_less_is_not_kept(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    let_enrol_return(monkeypatch, learnt(before=30, after=29))
    assert main(["enrol", "mine", "mine-2"]) == 1
    assert "The learnt voice is not kept." in capsys.readouterr().out
    assert enrolled_names() == ()


@pytest.mark.usefixtures("banks")
def test_a_gain_cannot_be_measured_with_one_recording_of_each_word(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    let_enrol_return(monkeypatch, learnt(before=0, after=0, words=0))
    assert main(["enrol", "mine"]) == 0
    assert "the gain cannot be tested" in capsys.readouterr().out


@pytest.mark.usefixtures("banks")
@pytest.mark.parametrize(
    ("options", "message"),
    [
        ([], "faintcall enrol BANK"),
        (["other"], "there is no word bank 'other'; there are: mine, mine-2"),
        (["mine"], "record at least 30"),
        (["--use", "other"], "no voice 'other'"),
        (["other", "--delete"], "no voice 'other'"),
    ],
)
def test_a_wrong_name_is_refused_in_one_line(
    options: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["enrol", *options]) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1
