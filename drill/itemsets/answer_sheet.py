"""The printable pages of an item set: sheets to write on, and the key."""

from collections.abc import Sequence
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from drill.items.plan import Plan
from phonetics.callsign_mixes import FICTION_NOTICE

SHEET_TEMPLATE, KEY_TEMPLATE = "answer_sheet.html", "answer_key.html"


def answer_sheet_html(plan: Plan, entries: Sequence[dict[str, Any]], *, people: int = 1) -> str:
    """Return a self-contained HTML page with a sheet for each person, without any answer.

    plan: the plan of the items. entries: results of drill.itemsets.write.manifest_entry.
    """
    return _render(SHEET_TEMPLATE, plan, entries, people=people)


def answer_key_html(plan: Plan, entries: Sequence[dict[str, Any]]) -> str:
    """Return a self-contained HTML page with what was sent. Arguments as in answer_sheet_html."""
    return _render(KEY_TEMPLATE, plan, entries)


def _render(template: str, plan: Plan, entries: Sequence[dict[str, Any]], **values: Any) -> str:
    environment = Environment(
        loader=PackageLoader("drill.itemsets"), autoescape=True, undefined=StrictUndefined
    )
    return environment.get_template(template).render(
        entries=entries,
        field_names=list(dict.fromkeys(name for entry in entries for name in entry["fields"])),
        conditions=plan.conditions.sentence,
        seed=plan.seed,
        fiction_notice=FICTION_NOTICE,
        **values,
    )
