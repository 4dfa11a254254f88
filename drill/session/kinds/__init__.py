"""The kinds of session and their registry.

Read `base` first, then `practice` as the simplest kind and `measurement` as the richest. A new kind
needs one class and one call of `register`.
"""

import re
from collections.abc import Mapping
from typing import Any, TypeVar

from drill.core.errors import UserError
from drill.items.plan import Plan
from drill.session.kinds.base import SessionKind
from drill.session.kinds.comparison import Comparison
from drill.session.kinds.first_steps import FirstSteps
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.kinds.quick_check import QuickCheck
from drill.session.kinds.training import Training

_Kind = TypeVar("_Kind", bound=type[SessionKind])

_NAME = re.compile("[a-z-]{1,30}")  # the form of names that imports of records accept
_registry: dict[str, type[SessionKind]] = {}


def register(kind: _Kind) -> _Kind:
    """Add a kind of session to the registry and return it, so that this can decorate a class.

    Raises: ValueError if a name is not lower-case letters and "-", or is taken by another kind.
    """
    for name in (kind.name, kind.stored_name):
        if not _NAME.fullmatch(name):
            raise ValueError(
                f"{name!r} is not a valid name for a kind of session; use a to z and '-'"
            )
        if find_kind(name) is not None:
            raise ValueError(f"the kind of session {name!r} is already registered")
    _registry[kind.name] = kind
    return kind


def registered_kinds(activity: str | None = None) -> tuple[type[SessionKind], ...]:
    """Return the kinds in the order of registration; activity: only those of this activity."""
    return tuple(
        kind for kind in _registry.values() if activity is None or kind.activity == activity
    )


def find_kind(name: str) -> type[SessionKind] | None:
    """Return the kind with this name or stored name, None if there is none."""
    for kind in _registry.values():
        if name in (kind.name, kind.stored_name):
            return kind
    return None


def kind_named(name: str) -> type[SessionKind]:
    """Return the kind with this name or stored name. Raises: UserError."""
    kind = find_kind(name)
    if kind is None:
        raise UserError(
            f"unknown kind of session {name!r}; choose one of {', '.join(_registry)}",
            field="kind",
            kind="unknown",
        )
    return kind


def kind_from_record(
    stored_name: str, plan: Mapping[str, Any], data: Mapping[str, Any]
) -> SessionKind:
    """Return the set-up of a recorded session.

    plan, data: what `Plan.to_dict` and `SessionKind.to_dict` wrote.
    Raises: UserError for a kind that this version does not have, for a plan that cannot be used any
    more, and for damaged data.
    """
    kind = find_kind(stored_name)
    if kind is None:
        raise UserError(
            f"the session is of the kind {stored_name!r}, which needs a newer faintcall; "
            "update this one"
        )
    session_plan = Plan.from_dict(plan)
    try:
        return kind.from_dict(session_plan, data)
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError):
        raise UserError(
            f"the recorded {kind.name} session is damaged and cannot continue; start a new one"
        ) from None


for _kind in (Practice, Training, FirstSteps, Measurement, QuickCheck, Comparison):
    register(_kind)
