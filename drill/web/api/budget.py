"""/api/budget: the link budget of the circuit that a form describes."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from drill.linkbudget.describe import describe_budget
from drill.linkbudget.form import circuit_from_form


def budget_json(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the link budget as sentences, the summary first, and tables.

    values: the form's values, as circuit_from_form takes them.

    Raises: UserError with the name of the wrong field.
    """
    description = describe_budget(circuit_from_form(values))
    return {
        "sentences": [description.summary, *description.notes],
        "tables": [asdict(table) for table in description.tables],
    }
