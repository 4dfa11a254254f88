"""What is looked at beside a sitting: past sittings, the report, conditions, the link budget."""

import threading
from collections.abc import Mapping
from contextlib import suppress
from datetime import UTC, datetime
from queue import Full
from typing import Any

from drill.core.errors import FaintcallError, UserError
from drill.core.validation import shown
from drill.items import prefetch
from drill.items.plan import compose_item, conditions_from_plan_data
from drill.records.store import Sitting, Store
from drill.report.figures import report
from drill.session.blocks import going_on
from drill.session.options import plan_of
from drill.web import request_fields
from drill.web.api.budget import budget_json
from drill.web.api.history import answers_json, snr
from drill.web.api.listen import listen
from drill.web.api.report import report_json
from drill.web.audio_cache import AudioCache
from drill.web.database import NotFoundError, open_record

MOST_ROWS = 1000
USUAL_ROWS = 50
MOST_STAGES = 7


class Looking:
    """What this server has been asked to make ready to look at or listen to."""

    def __init__(self, sounds: AudioCache) -> None:
        """Begin with nothing; sounds: where what is made to be heard is kept."""
        self._sounds = sounds
        self._one = threading.Lock()
        self._report: tuple[tuple[int, list[str]], dict[str, Any]] | None = None

    def history(self, limit: str | None) -> dict[str, Any]:
        """Return past sittings, newest first. Raises: UserError where the limit is no number."""
        most = USUAL_ROWS
        if limit is not None:
            if not limit.isascii() or not limit.isdigit() or not 1 <= int(limit[:9]) <= MOST_ROWS:
                raise UserError(f"limit {limit[:20]!r} is out of range; give 1 to {MOST_ROWS}")
            most = int(limit)
        with open_record() as store:
            return {"sittings": [row(sitting, store) for sitting in store.sittings(most)]}

    def answers(self, identity: str) -> dict[str, Any]:
        """Return the answers of one sitting; none of one that tells nothing before its end.

        Raises: NotFoundError.
        """
        with open_record() as store:
            sitting = store.sitting(identity)
            if sitting is None:
                raise NotFoundError(f"there is no sitting {shown(identity)}")
            told = row(sitting, store)
            if told["right"] is None:
                return {"sitting": told, "answers": [], "withheld": True}
            return {
                "sitting": told,
                "answers": answers_json(store.attempts(identity)),
                "withheld": False,
            }

    def report(self) -> dict[str, Any]:
        """Return the report, made anew where the record has changed."""
        with self._one, open_record() as store:
            times, takes = store.times(), store.takes(1)
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
        plan = plan_of(request_fields.session_options(form), count=1)
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


def row(sitting: Sitting, store: Store) -> dict[str, Any]:
    """Return a sitting as a row of the history; right and points are None until they are told."""
    plan = sitting.plan
    course = going_on(sitting, store)
    hidden = course is not None and not course.feedback  # told at its end
    try:
        conditions = conditions_from_plan_data(plan)
        named = conditions.name or conditions.fading.name
        level = snr(conditions.snr_db)
    except FaintcallError:
        named = level = "of a newer faintcall"
    return {
        "id": sitting.id,
        "started": sitting.started,
        "kind": sitting.mode,
        "answered": sitting.answered,
        "right": None if hidden else sitting.right,
        "points": None if hidden else round(sitting.points, 1),
        "snr": level if sitting.mode == "practice" else "by answers",
        "part": plan["part"],
        "conditions": named,
        "open": course is not None,
    }
