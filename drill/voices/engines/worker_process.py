"""Runs the worker script of a speech engine in its own process.

A worker reads one JSON object on standard input and writes its answer on standard output: one line
of JSON, then bytes. Some speech libraries keep state between calls, are not thread-safe, or
terminate their process, so each request gets a new process.
"""

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from drill.core.errors import NoVoice
from drill.voices.engines.worker_server import WorkerTimeout, answer_in_fork

CAN_FORK = hasattr(os, "fork")


def run_engine_worker(
    script: Path,
    request: Mapping[str, Any],
    *,
    voice: str,
    timeout_s: float,
    flags: tuple[str, ...] = (),
    serves: bool = False,
) -> tuple[dict[str, Any], bytes]:
    """Return the answer of a worker script: its JSON line and the bytes after it.

    voice: its name in messages, such as "the formant voice". timeout_s: the process is killed after
    this many seconds. flags: of the Python interpreter. serves: the script can run as a server
    (drill.voices.engines.worker_server), which is about four times as fast where forking works.

    Raises: NoVoice if the process fails, takes too long, or answers with an error.
    """
    command = (sys.executable, *flags, str(script))
    line = json.dumps(request).encode()
    answer, details = None, ""
    try:
        if serves and CAN_FORK:
            answer = answer_in_fork(command, line, timeout_s)
        if answer is None:
            answer, details = _answer_of_new_process(command, line, timeout_s)
    except (OSError, subprocess.TimeoutExpired, WorkerTimeout) as error:
        raise NoVoice(f"{voice} failed ({error}); choose operators of another engine") from None
    head_line, _, payload = answer.partition(b"\n")
    try:
        head = json.loads(head_line)
    except ValueError:
        head = {"error": details}
    if not isinstance(head, dict) or "error" in head:
        problem = head["error"] if isinstance(head, dict) else "no answer"
        raise NoVoice(f"{voice} failed ({problem}); choose operators of another engine")
    return head, payload


def _answer_of_new_process(
    command: tuple[str, ...], line: bytes, timeout_s: float
) -> tuple[bytes, str]:
    """Return the standard output of a new process, and its error message."""
    done = subprocess.run(command, input=line, capture_output=True, timeout=timeout_s, check=False)
    complaint = done.stderr.decode("utf-8", "replace").strip().splitlines()
    details = complaint[-1] if complaint else f"its process ended with {done.returncode}"
    return done.stdout, details
