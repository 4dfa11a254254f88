"""The record: one SQLite file in the user's data folder."""

from types import TracebackType

from drill.records.contacts import ContactTables
from drill.records.damage import report_damage
from drill.records.sessions import SessionTables
from drill.records.user_data import UserTables

_SIGNS_OF_DAMAGE = (LookupError, TypeError, ValueError, AttributeError, RecursionError)
"""What code raises that works with stored data and does not find what faintcall stores."""


class Store(SessionTables, ContactTables, UserTables):
    """The open record with all its tables. Every method that writes is one transaction.

    Audio is not kept: it follows from an item's data.
    """

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the file.

        If the block failed on stored data that is damaged, raise UserError that names the place in
        the record: code that uses plain data of the record need not check it again.
        """
        try:
            if isinstance(error, _SIGNS_OF_DAMAGE):
                report_damage(self)
        finally:
            self.close()
