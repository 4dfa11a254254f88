"""Limits on idle connections, so that they cannot block others.

Any user of this computer can connect to the port. uvicorn waits for the first request without a
time limit, and refuses requests above a number of connections. Here a connection has to send a
request within REQUEST_TIMEOUT_S, and above MAX_CONNECTIONS the oldest waiting connection is closed.
"""

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

REQUEST_TIMEOUT_S = 15.0
MAX_CONNECTIONS = 64


class LimitedConnection(H11Protocol):
    """A connection that is closed if it waits too long, or to make room for a new one."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        """Prepare the connection as uvicorn does."""
        super().__init__(*arguments, **options)
        self._opened_s = self.loop.time()
        self._deadline: asyncio.TimerHandle | None = None
        self._is_socket = False
        self._request_is_due = True  # a connection that is kept alive need not send another request

    @property
    def is_waiting(self) -> bool:
        """True if no complete request is being answered."""
        cycle = self.cycle
        return cycle is None or cycle.response_complete

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Accept a connection; close the oldest waiting one if there are too many."""
        super().connection_made(transport)
        if len(self.connections) > MAX_CONNECTIONS:
            self._make_room()
        self._arm()

    def data_received(self, data: bytes) -> None:
        """Handle data; a request that has begun must be complete in time."""
        super().data_received(data)
        self._request_is_due = self.is_waiting and not self._is_socket
        if self._request_is_due:
            self._arm()

    def handle_websocket_upgrade(self, event: Any) -> None:
        """Hand the connection over to the WebSocket protocol, without the deadline of HTTP."""
        self._is_socket = True
        super().handle_websocket_upgrade(event)

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the connection."""
        if self._deadline is not None:
            self._deadline.cancel()
        super().connection_lost(exc)

    def _make_room(self) -> None:
        others = [
            connection
            for connection in self.connections
            if isinstance(connection, LimitedConnection)
            and connection is not self
            and (connection.is_waiting or connection.cycle.more_body)
        ]
        if others:
            oldest = min(others, key=lambda connection: connection._opened_s)
            self.connections.discard(oldest)
            oldest.transport.abort()

    def _arm(self) -> None:
        if self._deadline is None:
            self._deadline = self.loop.call_later(REQUEST_TIMEOUT_S, self._close_if_waiting)

    def _close_if_waiting(self) -> None:
        self._deadline = None
        if self._request_is_due and not self.transport.is_closing():
            self.transport.close()
