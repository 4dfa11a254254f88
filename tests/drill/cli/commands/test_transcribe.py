"""faintcall transcribe."""

from pathlib import Path

import numpy as np
import pytest

from drill.cli import main
from drill.core.audio_files import write_audio
from drill.core.paths import record_file
from drill.recogniser.grammar import Grammar
from drill.recogniser.own.adaptation import Adaptation
from drill.recogniser.own.free_words import free_word_grammar
from drill.recogniser.own.model import load_model
from drill.records.store import Store
from drill.sending.enrolled_voices import keep_voice
from drill.voices import speak
from drill.voices.operators import find_operator
from phonetics.message import Word


def _file(folder: Path, words: str) -> Path:
    path = folder / "said.wav"
    said = [Word(say=word) for word in words.split()]
    write_audio(path, speak(said, find_operator("meadow"), 1))
    return path


def test_a_call_is_printed_word_by_word(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["transcribe", str(_file(tmp_path, "echo eight seven delta x-ray papa"))]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("E87DXP  (all of it right: ")
    assert [line.split()[2:4] for line in lines[3:]] == [
        ["echo", "E"],
        ["eight", "8"],
        ["seven", "7"],
        ["delta", "D"],
        ["x-ray", "X"],
        ["papa", "P"],
    ]


def test_an_over_with_its_exchange(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = _file(tmp_path, "roger you are five nine one four over")
    command = ["transcribe", str(path), "--expect", "over", "--exchange", "zone-amateur"]
    assert main(command) == 0
    assert capsys.readouterr().out.startswith("5914  ")


def test_any_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = _file(tmp_path, "good morning seven london zebra")
    assert main(["transcribe", str(path), "--expect", "words"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[2] for line in lines[3:]] == (
        ["good", "morning", "seven", "london", "zebra"]
    )


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["missing.wav"], "missing.wav"),
        (["FILE", "--expect", "over", "--exchange", "moon"], "moon"),
        (["FILE", "--voice", "mine"], "no voice 'mine' was learnt"),
    ],
)
def test_bad_input_is_refused_in_one_line(
    arguments: list[str], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(_file(tmp_path, "kilo seven delta"))
    assert main(["transcribe", *(path if a == "FILE" else a for a in arguments)]) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1


@pytest.mark.usefixtures("home")
def test_a_learnt_voice_changes_what_is_copied(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = load_model()
    bias = np.zeros(len(model.vocabulary.tokens) + 1, np.float32)
    bias[model.vocabulary.words["zulu"]] = 30.0
    width = model.run_with_hidden(np.zeros((8, 40), np.float32))[1].shape[1]
    weights = np.zeros((width, len(bias)), np.float32)
    adaptation = Adaptation(weights=weights, bias=bias, model_digest=model.digest)
    with Store(record_file()) as store:
        keep_voice(store, "mine", adaptation)
    path = str(_file(tmp_path, "echo eight seven delta"))
    assert main(["transcribe", path, "--expect", "words"]) == 0
    assert capsys.readouterr().out.startswith("E87D  ")
    assert main(["transcribe", path, "--expect", "words", "--voice", "mine"]) == 0
    printed = capsys.readouterr().out
    assert not printed.startswith("E87D  ")
    assert printed.endswith("Copied with the learnt voice mine.\n")


def test_the_grammar_of_any_words_takes_them_in_any_order() -> None:
    grammar: Grammar = free_word_grammar()
    assert grammar.accepts(["over", "kilo", "morning", "twenty-six"])
    assert not grammar.accepts(["lighthouse"])
