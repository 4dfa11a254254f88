"""The record: one SQLite file in the user's data folder."""

from drill.records.sessions import SessionTables
from drill.records.user_data import UserTables


class Store(SessionTables, UserTables):
    """The open record with all its tables. Every method that writes is one transaction.

    Audio is not kept: it follows from an item's data.
    """
