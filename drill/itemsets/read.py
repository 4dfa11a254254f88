"""Reads an item set: its plan and its manifest, checked against this version."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from drill.core.errors import UserError
from drill.items.plan import Plan, compose_item
from drill.itemsets.write import MANIFEST_FILE, PLAN_FILE


@dataclass(frozen=True, kw_only=True)
class ItemSet:
    """A complete set. entries: entries of its manifest, one for each item."""

    plan: Plan
    entries: tuple[dict[str, Any], ...]


def read_item_set(folder: Path) -> ItemSet:
    """Return the set in a folder.

    Raises: UserError with field "set" if there is none, if it is incomplete, or if this version
    composes items from its plan that differ from its files.
    """
    try:
        claim = json.loads((folder / PLAN_FILE).read_text("utf-8"))
        lines = (folder / MANIFEST_FILE).read_text("utf-8").splitlines()
        plan = Plan.from_dict(claim["plan"])
        entries = tuple(json.loads(line) for line in lines)
        truths = [str(entry["truth"]) for entry in entries]
    except (OSError, ValueError, LookupError, TypeError, RecursionError, UserError):
        raise UserError(
            f"{folder} does not contain a readable set of items; give the folder of a finished "
            "faintcall render",
            field="set",
        ) from None
    if len(entries) != plan.count:
        raise UserError(
            f"the set in {folder} has {len(entries)} of {plan.count} items; finish it by repeating "
            "the faintcall render that began it",
            field="set",
        )
    composed = [
        " ".join(field.text for field in compose_item(plan, number).message.fields)
        for number in range(plan.count)
    ]
    if truths != composed:
        raise UserError(
            f"the set in {folder} was written by version {claim.get('version', 'unknown')}, and "
            "this version composes other items from its seed; render it again",
            field="set",
        )
    return ItemSet(plan=plan, entries=entries)
