"""/api/people: the person who practises on this computer; every window follows the choice."""

import os
from collections.abc import Mapping
from typing import Any

from drill.core.paths import PERSON_VARIABLE, checked_person, present_person
from drill.core.validation import checked_entries
from drill.session.people import people_names, remove_person, summarise_people
from drill.session.people_wording import people_table
from drill.web import request_fields
from drill.web.tables import table_json


def people_json() -> dict[str, Any]:
    """Return "present", the current person ("" for the unnamed record), and "names" of all."""
    return {"present": present_person(), "names": list(people_names())}


def choose_person(data: Mapping[str, Any]) -> dict[str, Any]:
    """Switch to a person, who may be new; return people_json.

    data: "name", "" for the record without a name. The choice is stored in the environment, so that
    the processes of this server use it too. Raises: UserError.
    """
    name = request_fields.short_text("name", data.get("name"))
    os.environ[PERSON_VARIABLE] = checked_person(name) if name else ""
    return people_json()


def people_comparison() -> dict[str, Any]:
    """Return "table" with a row for each person, null without any, and the "names" of all.

    The record without a name is left out while it has no answer. Raises: UserError.
    """
    people = [p for p in summarise_people() if p.name or p.answered or p.problem]
    return {
        "table": table_json(people_table(people)) if people else None,
        "names": [person.name for person in people if person.name],
    }


def delete_person(data: Mapping[str, Any]) -> dict[str, Any]:
    """Delete a person's record permanently; return people_comparison().

    data: "name". If this is the present person, the record without a name becomes the present one.
    Raises: UserError if there is none.
    """
    entries = checked_entries(data, {"name": request_fields.short_text}, required=["name"])
    name = checked_person(entries["name"])
    remove_person(name)
    if name == present_person():
        os.environ[PERSON_VARIABLE] = ""
    return people_comparison()
