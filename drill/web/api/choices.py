"""/api/choices: all choices that a form can offer."""

from typing import Any

from drill.session.catalogue import session_catalogue


def choices_json() -> dict[str, Any]:
    """Return names and descriptions of all choices, including the user's own files.

    Raises: UserError.
    """
    return session_catalogue()
