"""The offer to install an extra: only if somebody can answer, and only if they agree."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from drill.cli import extra_offer
from drill.cli.extra_offer import offer_extra
from drill.core.extras import InstallProgress, InstallTarget

TARGET = InstallTarget(folder=Path("/env"), own=True, refusal="")
SHARED = InstallTarget(folder=Path("/env"), own=False, refusal="")
REFUSED = InstallTarget(folder=Path("/env"), own=False, refusal="not here")


@pytest.fixture
def installed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Replace the installation; return the list of the extras that it would have installed."""
    names: list[str] = []

    def install(name: str) -> Iterator[InstallProgress]:
        names.append(name)
        for done_mb in (0, 20, 55):
            yield InstallProgress(installing=False, file="a.whl", done_mb=done_mb, total_mb=55)
        yield InstallProgress(installing=True, file="", done_mb=55, total_mb=55)

    monkeypatch.setattr(extra_offer, "install_extra", install)
    monkeypatch.setattr(extra_offer, "extra_is_installed", lambda name: False)
    monkeypatch.setattr(extra_offer, "install_target", lambda: TARGET)
    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    return names


def answer(monkeypatch: pytest.MonkeyPatch, line: str) -> list[str]:
    """Answer every question with a line; return the list of questions."""
    questions: list[str] = []

    def typed(prompt: str = "") -> str:
        questions.append(prompt)
        return line

    monkeypatch.setattr("builtins.input", typed)
    return questions


def test_an_extra_is_installed_if_the_user_agrees(
    installed: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answer(monkeypatch, "y")
    offer_extra("parquet")
    assert installed == ["parquet"]
    out = capsys.readouterr().out
    assert "55 MB of download" in out
    assert "into /env." in out
    assert out.endswith("The extra parquet is installed.\n")


@pytest.mark.parametrize("line", ["", "n", "no"])
def test_nothing_is_installed_without_consent(
    installed: list[str], monkeypatch: pytest.MonkeyPatch, line: str
) -> None:
    answer(monkeypatch, line)
    offer_extra("parquet")
    assert installed == []


def test_the_question_says_that_an_environment_is_shared(
    installed: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(extra_offer, "install_target", lambda: SHARED)
    answer(monkeypatch, "n")
    offer_extra("parquet")
    assert "an environment that other programs may use" in capsys.readouterr().out


@pytest.mark.parametrize("reason", ["present", "no terminal", "refused"])
def test_no_question_is_asked_if_an_answer_changes_nothing(
    installed: list[str], monkeypatch: pytest.MonkeyPatch, reason: str
) -> None:
    if reason == "present":
        monkeypatch.setattr(extra_offer, "extra_is_installed", lambda name: True)
    elif reason == "no terminal":
        monkeypatch.setattr("sys.stdin.isatty", lambda: False)
    else:
        monkeypatch.setattr(extra_offer, "install_target", lambda: REFUSED)
    questions = answer(monkeypatch, "y")
    offer_extra("parquet")
    assert (questions, installed) == ([], [])
