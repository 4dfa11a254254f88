"""A worker gives the same answer from a server as from a new process, and fails in one line."""

import json
from pathlib import Path

import pytest

from drill.core.errors import NoVoice
from drill.voices.engines import worker_process
from drill.voices.engines.formant.engine import _WORKER, _library_path
from drill.voices.engines.formant.voice_file import voice_definition
from drill.voices.engines.worker_process import run_engine_worker
from drill.voices.operators import find_operator

ECHO = """import json, sys
request = json.load(sys.stdin)
print(json.dumps({"got": request["text"]}))
print("sound", end="")
"""


@pytest.fixture
def echo(tmp_path: Path) -> Path:
    path = tmp_path / "echo.py"
    path.write_text(ECHO, "utf-8")
    return path


def test_the_answer_is_json_and_bytes(echo: Path) -> None:
    answer, payload = run_engine_worker(echo, {"text": "é"}, voice="the voice", timeout_s=60)
    assert answer == {"got": "é"}
    assert payload == b"sound"


@pytest.mark.parametrize(
    ("script", "problem", "timeout_s"),
    [
        ('print(\'{"error": "it refused"}\')', "it refused", 60),
        ("print('[]')", "no answer", 60),
        ("import sys; sys.exit('out of order')", "out of order", 60),
        ("raise SystemExit(3)", "ended with 3", 60),
        ("import time; time.sleep(60)", "timed out", 0.2),
    ],
)
def test_a_failure_is_reported_in_one_line(
    script: str, problem: str, timeout_s: float, tmp_path: Path
) -> None:
    path = tmp_path / "worker.py"
    path.write_text(script, "utf-8")
    with pytest.raises(NoVoice, match=f"the voice failed .*{problem}") as caught:
        run_engine_worker(path, {}, voice="the voice", timeout_s=timeout_s)
    assert "\n" not in str(caught.value)


def test_a_server_gives_the_samples_of_a_new_process(monkeypatch: pytest.MonkeyPatch) -> None:
    library = _library_path()
    request = {
        "library": str(library),
        "folder": str(library.parent),
        "voice": voice_definition(find_operator("granite")),
        "text": "alfa, bravo.",
        "rate": 160,
        "seed": 5,
    }
    answers = []
    for can_fork in (worker_process.CAN_FORK, False):
        monkeypatch.setattr(worker_process, "CAN_FORK", can_fork)
        answers.append(
            run_engine_worker(
                _WORKER, request, voice="the voice", timeout_s=60, flags=("-I", "-S"), serves=True
            )
        )
    assert answers[0] == answers[1]
    assert json.dumps(answers[0][0]["events"])
