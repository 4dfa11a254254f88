"""The server survives the death of its children, and the caller survives that of the server."""

import os
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from drill.voices.engines import worker_server
from drill.voices.engines.formant import worker
from drill.voices.engines.worker_server import WorkerTimeout, _WorkerServer

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")

# The formant worker's loop, with an answer that contains the ids of its processes.
SCRIPT = """import os, sys
sys.path.insert(0, {folder!r})
import worker

def answer(line):
    text = line.decode().strip()
    if text == "die":
        os._exit(7)
    if text == "hang":
        import time
        time.sleep(60)
    return f"{{text}} {{os.getpid()}} {{os.getppid()}}".encode()

worker.answer_request = answer
worker.answer_requests()
"""


@pytest.fixture
def server(tmp_path: Path) -> Iterator[_WorkerServer]:
    path = tmp_path / "serving.py"
    path.write_text(SCRIPT.format(folder=str(Path(worker.__file__).parent)), "utf-8")
    server = _WorkerServer((sys.executable, str(path)))
    yield server
    server.close()


def answer(server: _WorkerServer, text: str, timeout_s: float = 60) -> list[str]:
    content = server.answer(text.encode(), timeout_s)
    assert content is not None
    return content.decode().split()


def test_each_request_has_a_child_of_the_same_server(server: _WorkerServer) -> None:
    answers = [answer(server, text) for text in ("a", "b", "c")]
    assert [text for text, _, _ in answers] == ["a", "b", "c"]
    assert len({child for _, child, _ in answers}) == 3
    assert len({parent for _, _, parent in answers}) == 1


def test_a_child_that_dies_leaves_the_server_running(server: _WorkerServer) -> None:
    _, _, parent = answer(server, "a")
    assert b"ended with 7" in (server.answer(b"die", 60) or b"")
    assert answer(server, "b")[2] == parent


def test_a_child_that_hangs_is_killed_with_its_server(server: _WorkerServer) -> None:
    _, _, parent = answer(server, "a")
    with pytest.raises(WorkerTimeout, match=r"no answer after 0\.5 s"):
        server.answer(b"hang", 0.5)
    with pytest.raises(ProcessLookupError):
        os.kill(int(parent), 0)
    assert answer(server, "b")[2] != parent


def test_an_interrupted_request_does_not_answer_the_next(
    server: _WorkerServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer(server, "a")
    with monkeypatch.context() as patch:
        patch.setattr(worker_server, "_read_exactly", interrupt)
        with pytest.raises(KeyboardInterrupt):
            server.answer(b"b", 20)
    assert answer(server, "c")[0] == "c"


def interrupt(*_: object) -> bytes:
    raise KeyboardInterrupt


def test_closing_ends_the_server(server: _WorkerServer) -> None:
    _, _, parent = answer(server, "a")
    server.close()
    with pytest.raises(ProcessLookupError):
        os.kill(int(parent), 0)


def test_a_killed_server_is_replaced_at_the_second_request(server: _WorkerServer) -> None:
    _, _, parent = answer(server, "a")
    os.kill(int(parent), 9)
    assert server.answer(b"b", 20) is None
    assert answer(server, "c")[2] != parent


def test_a_script_that_does_not_serve_gives_no_answer(tmp_path: Path) -> None:
    path = tmp_path / "ends.py"
    path.write_text("raise SystemExit(3)", "utf-8")
    assert _WorkerServer((sys.executable, str(path))).answer(b"a", 20) is None


def test_threads_get_their_own_answers(server: _WorkerServer) -> None:
    with ThreadPoolExecutor(4) as pool:
        texts = [str(number) for number in range(20)]
        answers = list(pool.map(lambda text: answer(server, text), texts))
    assert [text for text, _, _ in answers] == texts
