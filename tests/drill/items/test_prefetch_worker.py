"""Worker processes: Ctrl-C reaches only the parent, and no worker outlives it."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from drill.items.prefetch_worker import sigint_blocked

ROOT = Path(__file__).parents[3]
PARENT = """
import multiprocessing
import time
from drill.items.prefetch_worker import exit_with_parent

def busy_worker(ready):
    exit_with_parent()
    ready.set()
    time.sleep(60)  # work that no closed pipe interrupts

if __name__ == "__main__":
    context = multiprocessing.get_context("spawn")
    ready = context.Event()
    worker = context.Process(target=busy_worker, args=(ready,))
    worker.start()
    ready.wait()
    print(worker.pid, flush=True)
    time.sleep(60)
"""

posix_only = pytest.mark.skipif(sys.platform == "win32", reason="uses POSIX signals")


@posix_only
def test_a_busy_worker_exits_when_its_parent_is_killed(tmp_path: Path) -> None:
    script = tmp_path / "parent.py"
    script.write_text(PARENT, "utf-8")
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(
        [sys.executable, str(script)], stdout=subprocess.PIPE, text=True, env=environment
    ) as parent:
        assert parent.stdout
        worker = int(parent.stdout.readline())
        parent.kill()
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        try:
            os.kill(worker, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    os.kill(worker, signal.SIGKILL)
    pytest.fail("the worker is still running")


@posix_only
def test_sigint_is_blocked_only_inside_the_block() -> None:
    def blocked() -> bool:
        return signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, set())

    before = blocked()
    with sigint_blocked():
        assert blocked()
    assert blocked() == before
    with pytest.raises(RuntimeError), sigint_blocked():
        raise RuntimeError
    assert blocked() == before
