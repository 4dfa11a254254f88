"""/api/sets: render sets of items, add sets from elsewhere, copy them, compare people's results.

A set is rendered in a thread while the page asks for the progress. If it is cancelled, or the
program ends, beginning the same set again continues it.
"""

from collections.abc import Generator, Iterator, Mapping
from datetime import UTC, datetime
from functools import partial
from typing import Any

from drill.core.audio_files import AUDIO_FORMATS
from drill.core.errors import UserError
from drill.core.validation import (
    Check,
    checked_entries,
    integer_within,
    one_of,
    shown,
    within,
)
from drill.items.plan import Plan
from drill.itemsets.read import read_item_set
from drill.itemsets.storage import (
    SetExtras,
    StoredSet,
    add_set,
    delete_stored_set,
    find_stored_set,
    load_extras,
    save_extras,
    set_folder,
    sets_folder,
    stored_sets,
    zip_chunks,
)
from drill.itemsets.track import PAUSE_LIMITS_S, write_track
from drill.itemsets.write import MAX_PEOPLE, stored_seed, write_item_set
from drill.session.kinds.practice import Practice
from drill.session.options import plan_from_options
from drill.session.people import score_set
from drill.session.people_wording import set_table
from drill.session.session import Session
from drill.web import request_fields
from drill.web.api.states import StateJson, session_state
from drill.web.background_work import BackgroundWork
from drill.web.database import NotFoundError, open_record
from drill.web.tables import table_json

MAX_ITEMS = 1000
DEFAULT_ITEMS = 30
SET_CHECKS: Mapping[str, Check] = {
    "name": request_fields.short_text,
    "format": partial(one_of, allowed=AUDIO_FORMATS),
    "people": partial(integer_within, low=1, high=MAX_PEOPLE, label="number of answer sheets"),
    "track_s": partial(within, low=PAUSE_LIMITS_S[0], high=PAUSE_LIMITS_S[1], unit="s"),
}
"""Fields of a new set besides those of a session. track_s: pause of the track, null for none."""


class SetsApi:
    """The sets in the user's data folder; at most one is being rendered."""

    def __init__(self) -> None:
        """Start without work."""
        self._work = BackgroundWork()

    def sets_json(self) -> dict[str, Any]:
        """Return "folder", all "sets", and the "progress" of the one that is rendered.

        The label of the progress is the name of the set.
        """
        return {
            "folder": str(sets_folder()),
            "sets": [_set_row(stored) for stored in stored_sets()],
            "progress": self._work.progress(),
        }

    def render(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Begin or continue to render a set; return sets_json.

        data: the fields of SET_CHECKS and those of a session. Raises: UserError, also if another
        set is being rendered; NoVoice.
        """
        own = {name: value for name, value in data.items() if name in SET_CHECKS}
        entries = checked_entries(own, SET_CHECKS, required=["name"])
        name = entries["name"].strip()
        folder = set_folder(name)
        form = {name: value for name, value in data.items() if name not in SET_CHECKS}
        if form.get("seed") is None:  # continues an interrupted set instead of starting another
            form["seed"] = stored_seed(folder)
        options = request_fields.session_options(form)
        plan = plan_from_options(options, default_count=DEFAULT_ITEMS)
        integer_within("count", plan.count, 1, MAX_ITEMS, label="number of items")
        stored = find_stored_set(name)
        if stored is not None and stored.plan != plan:
            raise UserError(
                f"there is already a set {name!r} with other items; give another name",
                field="name",
            )
        extras = {key: value for key, value in entries.items() if key != "name"}
        return self._start(name, plan, SetExtras(**extras))

    def continue_set(self, name: str) -> dict[str, Any]:
        """Continue to render a set that was cancelled or interrupted; return sets_json.

        Raises: NotFoundError; UserError if the set cannot be used, or another one is being
        rendered; NoVoice.
        """
        stored = existing_set(name)
        if stored.plan is None:
            raise UserError(stored.problem)
        return self._start(name, stored.plan, load_extras(stored.folder))

    def _start(self, name: str, plan: Plan, extras: SetExtras) -> dict[str, Any]:
        track_steps = 0 if extras.track_s is None else plan.count
        steps = _rendering(plan, name, extras)
        if not self._work.start(name, plan.count + track_steps, steps):
            raise UserError("a set is being rendered; wait for it, or cancel it first")
        return self.sets_json()

    def cancel(self) -> dict[str, Any]:
        """Stop rendering after the present item; return sets_json."""
        self._work.cancel()
        return self.sets_json()

    def delete(self, name: str) -> dict[str, Any]:
        """Delete a set with its files; return sets_json. Raises: NotFoundError, UserError."""
        progress = self._work.progress()
        if progress["running"] and progress["label"] == name:
            raise UserError(f"the set {name!r} is being rendered; cancel that first")
        delete_stored_set(existing_set(name))
        return self.sets_json()


def _rendering(plan: Plan, name: str, extras: SetExtras) -> Generator[int, None, None]:
    """Render a set, and its track if one is wanted; yield the number of finished steps."""
    folder = set_folder(name)
    save_extras(folder, extras)
    yield from write_item_set(plan, folder, format_name=extras.format, people=extras.people)
    if extras.track_s is not None:
        items = read_item_set(folder)
        path = folder / f"track.{extras.format}"
        for number in write_track(plan, items.entries, path, pause_s=extras.track_s):
            yield plan.count + number


def add_set_from_file(query: Mapping[str, str], data: bytes, *, zipped: bool) -> dict[str, Any]:
    """Store a set from another computer; return its row. query: "name". data: see add_set.

    Raises: UserError.
    """
    entries = checked_entries(query, {"name": request_fields.short_text}, required=["name"])
    return _set_row(add_set(entries["name"].strip(), data, zipped=zipped))


def set_zip(name: str) -> Iterator[bytes]:
    """Return the pieces of a zip file of a set that has its sound files.

    Raises: NotFoundError; UserError if the set is incomplete or has no sound files.
    """
    stored = existing_set(name)
    if not stored.has_sound or not stored.complete:
        raise UserError(f"the set {name!r} is not complete; render it first")
    return zip_chunks(stored)


def copy_set(name: str, data: Mapping[str, Any]) -> StateJson:
    """Begin a practice session with the items of a set; return its state.

    data: an empty object. Raises: NotFoundError; UserError if the set cannot be used.
    """
    checked_entries(data, {})
    plan = read_item_set(existing_set(name).folder).plan
    with open_record() as store:
        return session_state(Session.begin(Practice(plan=plan), store, now=datetime.now(UTC)))


def set_scores(name: str) -> dict[str, Any]:
    """Return "table", everybody's first result with a set, null if nobody has tried it.

    Raises: NotFoundError, UserError.
    """
    scores = score_set(read_item_set(existing_set(name).folder).plan.to_dict())
    return {"table": table_json(set_table(scores)) if scores else None}


def existing_set(name: str) -> StoredSet:
    """Return a set by name. Raises: NotFoundError, UserError."""
    stored = find_stored_set(name)
    if stored is None:
        raise NotFoundError(f"there is no set {shown(name)}")
    return stored


def _set_row(stored: StoredSet) -> dict[str, Any]:
    return {
        "name": stored.name,
        "folder": str(stored.folder),
        "count": 0 if stored.plan is None else stored.plan.count,
        "finished": stored.finished,
        "complete": stored.complete,
        "has_sound": stored.has_sound,
        "problem": stored.problem,
        "sentence": "" if stored.plan is None else stored.plan.conditions.sentence,
    }
