"""The report, sounds of conditions and the link budget."""

import threading
from collections.abc import Mapping
from contextlib import suppress
from datetime import UTC, datetime
from queue import Full
from typing import Any

from drill.core.errors import UserError
from drill.items import prefetch
from drill.items.plan import compose_item
from drill.report.figures import report
from drill.session.options import plan_from_options
from drill.web import request_fields
from drill.web.api.budget import budget_json
from drill.web.api.listen import listen
from drill.web.api.report import report_json
from drill.web.audio_cache import AudioCache
from drill.web.database import NotFoundError, open_record

MOST_STAGES = 7


class Looking:
    """What this server has been asked to make ready to look at or listen to."""

    def __init__(self, sounds: AudioCache) -> None:
        """Begin with nothing; sounds: where what is made to be heard is kept."""
        self._sounds = sounds
        self._one = threading.Lock()
        self._report: tuple[tuple[int, list[str]], dict[str, Any]] | None = None

    def report(self) -> dict[str, Any]:
        """Return the report, made anew where the record has changed."""
        with self._one, open_record() as store:
            times, takes = store.attempt_times(), store.takes(1)
            newest = [str(at) for _, at in times[-1:]] + [at for at, *_ in takes]
            state = (len(times), newest)
            if self._report is None or self._report[0] != state:
                self._report = (state, report_json(report(store, now=datetime.now(UTC))))
            return self._report[1]

    def listen(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Return an over under conditions, with and without stages. Raises: UserError, NoVoice."""
        form = dict(data)
        stages = request_fields.short_list("without", form.pop("without", None) or [])
        if len(stages) > MOST_STAGES:
            raise UserError(f"without {len(stages)} stages is too many; give {MOST_STAGES} at most")
        plan = plan_from_options(request_fields.session_options(form), default_count=1)
        with suppress(OSError, RuntimeError, Full):  # no process: it is spoken here
            prefetch.wait_for_prefetch(prefetch.prefetch_item(compose_item(plan, 0)), patient=True)
        with self._one:  # the work fills a processor; two at once would both be late
            return listen(plan, list(dict.fromkeys(stages)), self._sounds.add)

    def sound(self, name: str) -> bytes:
        """Return a sound that was made for listening. Raises: NotFoundError."""
        found = self._sounds.get(name)
        if found is None:
            raise NotFoundError("this sound is not kept any more; ask for it again")
        return found

    def budget(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Return sentences and tables of a link budget. Raises: UserError."""
        return budget_json(data)

