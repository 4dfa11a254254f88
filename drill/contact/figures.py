"""Figures of several contacts: how many were made and right, and the overs and seconds they
took."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean

from drill.contact.debrief import ContactResult
from drill.core.structuring import from_data
from drill.psychometrics.intervals import Interval, wilson_interval
from drill.records.store import Store


@dataclass(frozen=True, kw_only=True, slots=True)
class ContactFigures:
    """Contacts of one kind together, such as those with one power.

    watts: None for all powers. begun: contacts. answered: those in which the far station answered
    the trainee. completed: in both logs. right: right in both.
    to_mend: contacts in which the trainee's call came back wrong, incomplete or not at all; mended:
    those of them in which it was right in the end. overs, seconds: means over completed contacts,
    None without any.
    """

    watts: float | None
    begun: int
    answered: int
    completed: int
    right: int
    to_mend: int
    mended: int
    overs: float | None
    seconds: float | None

    @property
    def completed_share(self) -> Interval:
        """Share of contacts that are in both logs, with its 95 % interval."""
        return wilson_interval(self.completed, self.begun)

    @property
    def right_share(self) -> Interval:
        """Share of contacts that are right in both logs, with its 95 % interval."""
        return wilson_interval(self.right, self.begun)


@dataclass(frozen=True, kw_only=True, slots=True)
class ContactHistory:
    """All contacts of the record.

    by_power: highest power first. sessions: (start in ISO 8601, figures), oldest first.
    """

    total: ContactFigures
    by_power: tuple[ContactFigures, ...]
    sessions: tuple[tuple[str, ContactFigures], ...]


def summarise_contacts(
    results: Iterable[ContactResult], *, watts: float | None = None
) -> ContactFigures:
    """Return the figures of contacts; watts: the power with which all of them were made."""
    known = list(results)
    made = [result for result in known if result.logs.is_completed]
    return ContactFigures(
        watts=watts,
        begun=len(known),
        answered=sum(result.overs > 0 for result in known),
        completed=len(made),
        right=sum(result.logs.is_right for result in known),
        to_mend=sum(result.was_mended for result in known),
        mended=sum(result.is_mended for result in known),
        overs=round(fmean(result.overs for result in made), 1) if made else None,
        seconds=round(fmean(result.seconds for result in made), 1) if made else None,
    )


def figures_by_power(results: Sequence[ContactResult]) -> tuple[ContactFigures, ...]:
    """Return the figures for each power, the highest first."""
    powers = sorted({result.watts for result in results}, reverse=True)
    return tuple(
        summarise_contacts((r for r in results if r.watts == watts), watts=watts)
        for watts in powers
    )


def contact_history(store: Store) -> ContactHistory | None:
    """Return the figures of all recorded contacts, None if there is no finished one."""
    by_session: dict[tuple[str, str], list[ContactResult]] = {}
    for row in store.contact_results():
        result = from_data(ContactResult, row.result)
        by_session.setdefault((row.started, row.session), []).append(result)
    results = [result for session in by_session.values() for result in session]
    if not results:
        return None
    return ContactHistory(
        total=summarise_contacts(results),
        by_power=figures_by_power(results),
        sessions=tuple(
            (started, summarise_contacts(session)) for (started, _), session in by_session.items()
        ),
    )
