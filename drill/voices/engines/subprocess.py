"""Run a speech engine in a process of its own: one JSON order in, a line of JSON and bytes out."""

import json
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from drill.core.errors import NoVoice


def order(
    script: Path,
    request: Mapping[str, Any],
    *,
    who: str,
    limit_s: float,
    flags: tuple[str, ...] = (),
) -> tuple[dict[str, Any], bytes]:
    """Return the answer of a worker script: its JSON line and the bytes after it.

    who: the voice as a message names it. limit_s: seconds before the process is ended.
    Raises: NoVoice where the process fails, hangs, or answers with an error.
    """
    try:
        done = subprocess.run(
            [sys.executable, *flags, str(script)],
            input=json.dumps(request).encode(),
            capture_output=True,
            timeout=limit_s,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise NoVoice(f"{who} failed ({error}); choose operators of another engine") from None
    line, _, rest = done.stdout.partition(b"\n")
    try:
        head = json.loads(line)
    except ValueError:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        head = {"error": said[-1] if said else f"its process ended with {done.returncode}"}
    if not isinstance(head, dict) or "error" in head:
        why = head["error"] if isinstance(head, dict) else "no answer"
        raise NoVoice(f"{who} failed ({why}); choose operators of another engine")
    return head, rest
