"""Long work that runs in a thread while the page asks for its progress, and that can be cancelled.

The work is a generator that yields after every step; it is cancelled between two steps.
"""

import threading
from collections.abc import Generator
from typing import Any

from drill.core.errors import FaintcallError


class BackgroundWork:
    """At most one piece of work, and the progress of the last one."""

    def __init__(self) -> None:
        """Begin without any work."""
        self._lock = threading.Lock()
        self._running = self._cancelled = False
        self._label = self._problem = ""
        self._done = self._total = 0

    def start(self, label: str, total: int, steps: Generator[int, None, None]) -> bool:
        """Start a piece of work unless one is running; return whether it was started.

        label: distinguishes the caller's kinds of work. total: number of steps. steps: yields the
        number of finished steps; a FaintcallError ends it and becomes its problem.
        """
        with self._lock:
            if self._running:
                return False
            self._running, self._cancelled = True, False
            self._label, self._problem = label, ""
            self._done, self._total = 0, total
        threading.Thread(target=self._run, args=(steps,), daemon=True).start()
        return True

    def cancel(self) -> None:
        """End the work after its present step."""
        with self._lock:
            self._cancelled = True

    def progress(self) -> dict[str, Any]:
        """Return "running", "label", "done" and "total" in steps, "cancelled" and "problem"."""
        with self._lock:
            return {
                "running": self._running,
                "label": self._label,
                "done": self._done,
                "total": self._total,
                "cancelled": self._cancelled,
                "problem": self._problem,
            }

    def _run(self, steps: Generator[int, None, None]) -> None:
        problem = "the work ended because of an internal error"
        try:
            for done in steps:
                with self._lock:
                    self._done = done
                    if self._cancelled:
                        break
            problem = ""
        except FaintcallError as error:
            problem = str(error)
        finally:
            steps.close()
            with self._lock:
                self._running, self._problem = False, problem
