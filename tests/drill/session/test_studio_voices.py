"""The offer of the studio voices, and adding them; nothing is installed in these tests."""

from dataclasses import replace
from pathlib import Path

import pytest

from drill.core.errors import ResourceUnavailable, UserError
from drill.core.extras import InstallProgress
from drill.session.studio_voices import (
    add_studio_voices,
    offer_sentences,
    progress_sentence,
    speed_sentence,
    studio_offer,
)
from drill.voices.engines.studio.speed import StudioSpeed
from tests.drill.studio_installation import STEPS, StubInstallation


@pytest.fixture
def installation(monkeypatch: pytest.MonkeyPatch, home: Path) -> StubInstallation:
    return StubInstallation(monkeypatch)


def test_the_voices_are_installed_and_then_measured(installation: StubInstallation) -> None:
    assert not studio_offer().installed
    assert list(add_studio_voices(allow_shared=False)) == [*STEPS, installation.speed]
    assert installation.installs == ["studio"]
    assert studio_offer().installed


def test_installed_voices_are_only_measured(installation: StubInstallation) -> None:
    installation.installed = True
    assert list(add_studio_voices(allow_shared=False)) == [installation.speed]
    assert installation.installs == []


def test_a_shared_environment_is_left_alone_unless_the_user_agrees(
    installation: StubInstallation,
) -> None:
    installation.target = replace(installation.target, own=False)
    assert "other programs may use" in " ".join(offer_sentences(studio_offer()))
    with pytest.raises(UserError, match="other programs may use it; agree") as refused:
        list(add_studio_voices(allow_shared=False))
    assert refused.value.field == "allow_shared"
    assert installation.installs == []
    list(add_studio_voices(allow_shared=True))
    assert installation.installs == ["studio"]


def test_a_failure_of_pip_is_passed_on_and_nothing_is_measured(
    installation: StubInstallation,
) -> None:
    installation.error = ResourceUnavailable("the studio extra could not be installed (no network)")
    with pytest.raises(ResourceUnavailable, match="no network"):
        list(add_studio_voices(allow_shared=True))
    assert not studio_offer().installed


def test_the_offer_states_size_and_folder(installation: StubInstallation) -> None:
    text = " ".join(offer_sentences(studio_offer()))
    assert "add 42 operators" in text
    assert f"a download of {studio_offer().download_mb:.0f} MB" in text
    assert f"They would be added to {installation.target.folder}." in text
    installation.target = replace(installation.target, refusal="there is no pip here")
    assert offer_sentences(studio_offer())[-1] == (
        "They cannot be added here: there is no pip here."
    )


@pytest.mark.parametrize(
    ("speed", "text"),
    [
        (None, "Until faintcall has measured"),
        (StudioSpeed(share_of_length=0.57), "in 57 % of its length, so they speak together"),
        (StudioSpeed(share_of_length=2.4), "in 240 % of its length, which is too slow"),
    ],
)
def test_the_speed_says_whether_they_speak_by_default(
    speed: StudioSpeed | None, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("os.cpu_count", lambda: 4)
    assert text in speed_sentence(speed)


def test_the_progress_is_reported_in_sentences() -> None:
    step = InstallProgress(installing=False, file="", done_mb=0, total_mb=86)
    assert progress_sentence(step) == "Looking for the packages."
    assert progress_sentence(replace(step, file="a.whl", done_mb=20.4)) == (
        "Downloading, 20 of 86 MB."
    )
    assert progress_sentence(replace(step, installing=True)) == "Installing the packages."
