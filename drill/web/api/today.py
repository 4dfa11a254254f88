"""/api/today: what to practise now, and why."""

from datetime import UTC, datetime
from typing import Any

from drill.core.structuring import to_data
from drill.session.today import recommend
from drill.session.today_wording import describe_today
from drill.web.database import open_record

ACTIVITY_PAGES = {"practise": "/practise", "measure": "/measure", "compare": "/compare"}
"""The page of each activity."""
SENDING_PAGE = "/speak"


def today_json() -> dict[str, Any]:
    """Return "when", "title", "why" and "begin" of TodayText, "page", and "session".

    session: kind and options of a session to begin there, null for the sending drill.
    """
    now = datetime.now(UTC).astimezone()
    with open_record() as store:
        recommendation = recommend(store, now=now)
    kind = recommendation.kind
    text = to_data(describe_today(recommendation, now=now))
    if kind is None:
        return {**text, "page": SENDING_PAGE, "session": None}
    options = recommendation.options()
    session = {name: getattr(options, name) for name in options.given}
    if session.pop("no_noise", False):
        session["snr_db"] = None  # as the page's forms say it
    return {
        **text,
        "page": ACTIVITY_PAGES[kind.activity],
        "session": {"kind": kind.name, **session},
    }
