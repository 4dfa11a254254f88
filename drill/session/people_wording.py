"""Tables that compare people, for terminal and page."""

from collections.abc import Sequence

from drill.core.text_blocks import Table
from drill.session.people import PersonSummary, SetScore
from drill.session.wording import interval_db

NOBODY = "(no name)"
"""Label of the record without a name."""


def people_table(people: Sequence[PersonSummary]) -> Table:
    """Return a table with one row for each person."""
    rows = []
    for person in people:
        newest = "" if person.newest is None else f"{person.newest.astimezone():%Y-%m-%d}"
        x50 = "" if person.x50_db is None else interval_db(person.x50_db)
        figures = (f"{person.answered}", f"{person.right_at_first_hearing}", x50, newest)
        rows.append(
            (person.name or NOBODY, *((person.problem, "", "", "") if person.problem else figures))
        )
    return Table(
        caption="People",
        head=("name", "answers", "right on first hearing", "x50, last measurement", "last session"),
        rows=tuple(rows),
    )


def set_table(scores: Sequence[SetScore]) -> Table:
    """Return a table with one row for each person who has tried a set, in the order given."""
    return Table(
        caption="The set",
        head=("name", "right on first hearing", "characters right"),
        rows=tuple(
            (
                score.name or NOBODY,
                f"{score.right} of {score.answered}",
                f"{score.characters_right} of {score.characters_sent}",
            )
            for score in scores
        ),
    )
