"""Practice: every item under the conditions that the trainee chose."""

from dataclasses import dataclass

from drill.session.kinds.base import SessionKind


@dataclass(frozen=True, kw_only=True)
class Practice(SessionKind):
    """Items under fixed conditions, with replays and with the score after each answer."""

    name = "practice"
    stored_name = "practice"
    title = "Practice"
    sentence = "Every item under the conditions that you choose."
