"""The printable answer sheet of an item set: a page to write on, and the key on the next page."""

from collections.abc import Sequence
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from drill.items.plan import Plan
from phonetics.callsign_mixes import FICTION_NOTICE

TEMPLATE = "answer_sheet.html"


def answer_sheet_html(plan: Plan, entries: Sequence[dict[str, Any]]) -> str:
    """Return a self-contained HTML page for the entries of a manifest.

    plan: the plan that gave the items. entries: results of drill.itemsets.write.manifest_entry.
    """
    environment = Environment(
        loader=PackageLoader("drill.itemsets"), autoescape=True, undefined=StrictUndefined
    )
    return environment.get_template(TEMPLATE).render(
        entries=entries,
        field_names=list(dict.fromkeys(name for entry in entries for name in entry["fields"])),
        conditions=plan.conditions.sentence,
        seed=plan.seed,
        fiction_notice=FICTION_NOTICE,
    )
