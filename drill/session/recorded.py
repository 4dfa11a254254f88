"""Sessions of the record: what kind they are, and whether they can continue.

A recorded session can be from a newer version of faintcall, or need an exchange or an operator that
no longer exists. Lists still show such a session, but it cannot continue here.
"""

from drill.core.errors import FaintcallError
from drill.records.sessions import SessionRecord
from drill.records.store import Store
from drill.session.kinds import find_kind, kind_from_record
from drill.session.kinds.base import SessionKind


def recorded_kind(session: SessionRecord) -> SessionKind:
    """Return the set-up of a recorded session. Raises: UserError."""
    return kind_from_record(session.mode, session.plan, session.course)


def open_kind(session: SessionRecord, store: Store) -> SessionKind | None:
    """Return the set-up of a recorded session that can continue here; None for any other."""
    try:
        kind = recorded_kind(session)
    except FaintcallError:
        return None
    if session.answered >= kind.count:
        return None
    # Reading the attempts is slow, and few kinds of session can end early.
    if kind.can_end_early and kind.finished(store.attempts(session.id)):
        return None
    return kind


def result_is_withheld(session: SessionRecord, store: Store) -> bool:
    """Return True if the scores of a recorded session stay hidden until it is finished."""
    kind = open_kind(session, store)
    return kind is not None and not kind.gives_feedback


def kind_label(session: SessionRecord) -> str:
    """Return the name of a recorded session's kind; an unknown kind goes by its stored name."""
    kind = find_kind(session.mode)
    return session.mode if kind is None else kind.name


def has_fixed_snr(session: SessionRecord) -> bool:
    """Return True if all items of a recorded session have the SNR of its plan."""
    kind = find_kind(session.mode)
    return kind is not None and not kind.sets_snr()
