"""/api/studio: the offer of the studio voices, and their installation with progress.

The installation runs in a thread; the page asks for the state until it has ended.
"""

import threading
from collections.abc import Mapping
from typing import Any

from drill.core.errors import FaintcallError, UserError
from drill.core.extras import InstallProgress
from drill.core.validation import checked_entries, checked_flag
from drill.session.studio_voices import (
    add_studio_voices,
    offer_sentences,
    progress_sentence,
    studio_offer,
)

_STARTING = "Looking for the packages."
_MEASURING = "Measuring how quickly this computer speaks with them."


class StudioApi:
    """The offer of the studio voices, and at most one running installation."""

    def __init__(self) -> None:
        """Start without an installation."""
        self._lock = threading.Lock()
        self._running = False
        self._says = self._problem = ""
        self._share_done: float | None = None

    def state(self) -> dict[str, Any]:
        """Return the offer and the progress as data for JSON.

        "says": sentences. "act": "add", "measure", or "" if there is nothing to do. "shared": the
        user has to agree, because other programs may use the environment. "running", "progress"
        (a sentence), "done" (0 to 1, None if unknown). "problem": why the last attempt failed.
        """
        offer = studio_offer()
        act = "" if offer.is_complete else "measure" if offer.installed else "add"
        if act == "add" and offer.refusal:
            act = ""
        with self._lock:
            return {
                "says": offer_sentences(offer),
                "act": act,
                "shared": act == "add" and offer.shared,
                "running": self._running,
                "progress": self._says,
                "done": self._share_done,
                "problem": self._problem,
            }

    def add(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Start adding the voices unless an installation is running; return the state.

        data: "allow_shared", whether the user agrees to a shared environment. Raises: UserError.
        """
        entries = checked_entries(data, {"allow_shared": checked_flag})
        allow_shared = bool(entries.get("allow_shared"))
        offer = studio_offer()
        if not offer.installed and offer.shared and not allow_shared and not offer.refusal:
            raise UserError(
                f"other programs may use {offer.folder}; agree before packages are added to it",
                field="allow_shared",
            )
        with self._lock:
            if not self._running:
                self._running = True
                self._problem, self._share_done = "", None
                self._says = _MEASURING if offer.installed else _STARTING
                threading.Thread(target=self._run, args=(allow_shared,), daemon=True).start()
        return self.state()

    def _run(self, allow_shared: bool) -> None:
        problem = ""
        try:
            for step in add_studio_voices(allow_shared=allow_shared):
                if isinstance(step, InstallProgress):
                    self._show(step)
        except FaintcallError as error:
            problem = str(error)
        finally:
            with self._lock:
                self._running, self._says, self._problem = False, "", problem

    def _show(self, progress: InstallProgress) -> None:
        with self._lock:
            self._says = progress_sentence(progress)
            self._share_done = min(1.0, progress.done_mb / progress.total_mb)
