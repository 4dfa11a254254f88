"""What is spoken ahead: by another process, into the cache, and no process is left behind."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from drill import ahead
from drill.folders import cache_folder
from drill.plan import Plan, compose

ITEM = compose(Plan(seed=77, count=1, mix="unassigned", voices=("tin",)), 0)


def test_speech_is_in_the_cache_when_it_says_so(home: Path) -> None:
    assert not cache_folder().exists()
    ahead.speak(ITEM).result(timeout=60)
    assert any(path.is_file() for path in cache_folder().rglob("*"))


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_a_kill_leaves_no_process_behind(home: Path) -> None:
    code = (
        "import sys, time\n"
        "from drill import ahead\n"
        "from drill.plan import Plan, compose\n"
        "if __name__ == '__main__':\n"
        "    plan = Plan(seed=78, count=1, mix='unassigned', voices=('tin',))\n"
        "    ahead.speak(compose(plan, 0)).result()\n"
        "    print(*ahead._pool()._processes, flush=True)\n"
        "    time.sleep(60)\n"
    )
    script = home.parent / "parent.py"
    script.write_text(code, "utf-8")
    root = str(Path(__file__).parents[2])
    with subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": root},
    ) as parent:
        assert parent.stdout
        worker = int(parent.stdout.readline())
        os.kill(worker, 0)  # it is there
        parent.kill()
        parent.wait()
    deadline = time.monotonic() + 20
    while time.monotonic() < deadline:
        try:
            os.kill(worker, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    pytest.fail(f"process {worker} lives on")
