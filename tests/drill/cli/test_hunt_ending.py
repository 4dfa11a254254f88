"""The end of a hunt in the terminal."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.cli.audio_out import FileOutput
from drill.cli.hunt_ending import HuntEnding
from drill.cli.line_reader import LineReader
from drill.hunt.acts import END, HuntAct
from drill.hunt.sessions import HuntSession
from drill.hunt.speech import VoiceSpeech
from drill.records.store import Store
from tests.drill.hunt.simple_hunter import SimpleHunter, make_setup

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


class Lines(LineReader):
    """Lines that are typed one after another."""

    def __init__(self, *lines: str) -> None:
        self._waiting = list(lines)

    def ask(self, prompt: str) -> str:
        print(prompt)
        return self._waiting.pop(0)


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> Iterator[HuntSession]:
    """Return an ended hunt with a right contact and one with a wrong call."""
    setup = make_setup()
    setup = replace(setup, plan=replace(setup.plan, voices=("rivet",)), voice="rivet")
    with Store(tmp_path_factory.mktemp("ending") / "record.sqlite3") as store:
        hunt = HuntSession.begin(setup, store, now=NOW, speech=VoiceSpeech())
        hunter = SimpleHunter(hunt.live, hunt.act, hunt.advance)
        first, second = hunter.strongest()[:2]
        assert hunter.work(first)
        hunter.errs = lambda text: "OF1QUN " + text.split(maxsplit=1)[1]
        assert hunter.work(second)
        hunt.act(HuntAct(at=hunt.live.now, kind=END))
        yield hunt


def test_the_result_is_printed(
    session: HuntSession, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    HuntEnding(session, FileOutput(tmp_path), None).run()
    shown = capsys.readouterr().out
    assert "1 of 2 contacts are right in both logs." in shown
    assert "Lost 1: OF1QUN: wrong call" in shown
    assert "Contacts by quarter hour" in shown
    assert "waiting for a call" in shown


def test_overs_can_be_played_again(
    session: HuntSession, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = Lines("1", "1.1", "1.2c", "1.99", "7", "x", "d", "")
    HuntEnding(session, FileOutput(tmp_path), lines).run()
    shown = capsys.readouterr().out
    assert "They made out: E87ABC" in shown
    assert "This contact has" in shown
    assert shown.count("Unknown key") == 2
    written = sorted(path.name for path in tmp_path.iterdir())
    assert written == ["lost-1-over-1.wav", "lost-1-over-2-clean.wav"]
    assert all(path.stat().st_size > 20_000 for path in tmp_path.iterdir())
