"""The record: one SQLite file in the user's data folder."""

from types import TracebackType

from drill.records.contacts import ContactTables
from drill.records.hunts import HuntTables
from drill.records.machine_copies import MachineTables
from drill.records.sessions import SessionTables
from drill.records.user_data import UserTables

_SIGNS_OF_DAMAGE = (LookupError, TypeError, ValueError, AttributeError, RecursionError)
"""Errors that code raises if stored data does not have the form in which faintcall stores it."""


class Store(SessionTables, ContactTables, HuntTables, MachineTables, UserTables):
    """The open record with all its tables. Every method that writes is one transaction.

    Audio is not stored; it can be rendered from an item's data.
    """

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the file.

        If the block failed because stored data is damaged, raise UserError that names the place in
        the record. Code that uses plain data of the record therefore need not check it.
        """
        try:
            if isinstance(error, _SIGNS_OF_DAMAGE):
                from drill.records.damage import report_damage

                report_damage(self)
        finally:
            self.close()
