"""/api/people: the person who practises on this computer; every window follows the choice."""

import os
from collections.abc import Mapping
from typing import Any

from drill.core.paths import PERSON_VARIABLE, checked_person, present_person
from drill.session.people import people_names
from drill.web import request_fields


def people_json() -> dict[str, Any]:
    """Return "present", the current person ("" for the unnamed record), and "names" of all."""
    return {"present": present_person(), "names": list(people_names())}


def choose_person(data: Mapping[str, Any]) -> dict[str, Any]:
    """Switch to a person, new or known, and return people_json.

    data: "name", "" for the record of nobody by name. The choice is in the environment, so that
    the processes of this server follow. Raises: UserError.
    """
    name = request_fields.short_text("name", data.get("name"))
    os.environ[PERSON_VARIABLE] = checked_person(name) if name else ""
    return people_json()
