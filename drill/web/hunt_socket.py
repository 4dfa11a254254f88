"""The WebSocket of a hunt: passes messages between the page and the feed's threads."""

import asyncio
from contextlib import suppress

from starlette.concurrency import run_in_threadpool
from starlette.routing import WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from drill.web.hunt_feed import NORMAL, HuntFeed
from drill.web.hunt_feeds import HuntFeeds
from drill.web.socket_guard import SOCKET_PROTOCOL

HUNT_SOCKET_PATH = "/api/hunts/{id}/sound"
MAX_REASON = 100
"""Maximum length of a close reason; a control frame holds 125 bytes (RFC 6455, section 5.5)."""

_Outgoing = asyncio.Queue[bytes | str | tuple[int, str]]


def hunt_socket_route(feeds: HuntFeeds) -> WebSocketRoute:
    """Return the route of the socket; drill.web.security has checked the handshake."""

    async def endpoint(socket: WebSocket) -> None:
        identity = socket.path_params["id"]
        loop, outgoing = asyncio.get_running_loop(), _Outgoing()

        def put(message: bytes | str | tuple[int, str]) -> None:
            with suppress(RuntimeError):  # the event loop is closed because the program ends
                loop.call_soon_threadsafe(outgoing.put_nowait, message)

        await socket.accept(subprotocol=SOCKET_PROTOCOL)
        sender = asyncio.create_task(_send_all(socket, outgoing))
        feed = await run_in_threadpool(
            feeds.open, identity, send=put, finish=lambda code, reason: put((code, reason))
        )
        try:
            await _receive_all(socket, feed)
        finally:
            sender.cancel()
            await run_in_threadpool(feeds.close, identity, feed)

    return WebSocketRoute(HUNT_SOCKET_PATH, endpoint)


async def _send_all(socket: WebSocket, outgoing: _Outgoing) -> None:
    """Send the feed's messages until it gives a code and a reason for closing."""
    with suppress(WebSocketDisconnect, RuntimeError):  # the page has closed the socket
        while True:
            message = await outgoing.get()
            if isinstance(message, bytes):
                await socket.send_bytes(message)
            elif isinstance(message, str):
                await socket.send_text(message)
            else:
                code, reason = message
                await socket.close(code, reason[:MAX_REASON] if code != NORMAL else None)
                return


async def _receive_all(socket: WebSocket, feed: HuntFeed) -> None:
    """Pass every message of the page to the feed, until the socket closes."""
    while True:
        message = await socket.receive()
        if message["type"] == "websocket.disconnect":
            return
        feed.receive(message.get("text") or "")
