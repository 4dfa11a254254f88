"""/api/selfcheck: measure the channel on this computer against published limits, with progress.

A check that was cancelled continues with the figures that are still missing.
"""

import threading
from collections.abc import Generator
from typing import Any

from drill.core.counting import plural
from drill.core.text_blocks import Table
from drill.selfcheck.checks import SELF_CHECKS
from drill.selfcheck.figures import CheckedFigure
from drill.web.background_work import BackgroundWork
from drill.web.tables import table_json


class SelfCheckApi:
    """The figures measured so far, by number of the check, and at most one running check."""

    def __init__(self) -> None:
        """Start without figures."""
        self._work = BackgroundWork()
        self._lock = threading.Lock()
        self._figures: list[tuple[CheckedFigure, ...]] = []

    def state(self) -> dict[str, Any]:
        """Return "progress", and the "table" and "says" of the figures measured so far."""
        with self._lock:
            figures = [figure for check in self._figures for figure in check]
            complete = len(self._figures) == len(SELF_CHECKS)
        progress = self._work.progress()
        return {
            "progress": progress,
            "complete": complete,
            "can_continue": bool(figures) and not complete and not progress["running"],
            "passed": all(figure.passed for figure in figures),
            "says": _sentence(figures, complete=complete),
            "table": table_json(_table(figures)) if figures else None,
        }

    def start(self) -> dict[str, Any]:
        """Begin the check, or continue one that was cancelled; return the state."""
        with self._lock:
            if len(self._figures) == len(SELF_CHECKS):
                self._figures = []
        self._work.start("selfcheck", len(SELF_CHECKS), self._steps())
        return self.state()

    def cancel(self) -> dict[str, Any]:
        """End the check after its present step; return the state."""
        self._work.cancel()
        return self.state()

    def _steps(self) -> Generator[int, None, None]:
        with self._lock:
            first = len(self._figures)
        for number, check in enumerate(SELF_CHECKS[first:], first + 1):
            figures = tuple(check())
            with self._lock:
                self._figures.append(figures)
            yield number


def _sentence(figures: list[CheckedFigure], *, complete: bool) -> str:
    if not figures:
        return ""
    within = sum(figure.passed for figure in figures)
    so_far = "" if complete else " so far"
    text = f"Within their limits{so_far}: {within} of {plural(len(figures), 'value')}."
    if within < len(figures):
        text += " Please report the others, with your computer and versions."
    return text


def _table(figures: list[CheckedFigure]) -> Table:
    return Table(
        caption="The channel on this computer",
        head=("quantity", "value", "limits", "unit", "within", "source"),
        rows=tuple(
            (
                figure.quantity,
                f"{figure.value:.3f}",
                f"{figure.low:.5g} to {figure.high:.5g}",
                figure.unit,
                "yes" if figure.passed else "no",
                figure.source,
            )
            for figure in figures
        ),
    )
