"""Decides whether a WebSocket handshake comes from the user's own page.

A browser opens a WebSocket to any host for any website, without a preflight and with the cookies of
that host, so the server has to check the Origin itself. A page cannot add headers to a handshake;
it sends the key of the run as the name of a subprotocol, which no other page knows. Source: RFC
6455, sections 1.6 and 10.2 (origin) and 1.9 (subprotocols); OWASP WebSocket Security Cheat Sheet.
"""

from collections.abc import Collection

from starlette.requests import HTTPConnection

from drill.web.page_key import cookie_value, is_same, request_key

SOCKET_PROTOCOL = "faintcall"
"""The subprotocol that the server selects."""
KEY_PROTOCOL_PREFIX = "faintcall-key."


def socket_is_admitted(
    connection: HTTPConnection, *, hosts: Collection[str], cookie: str, token: str
) -> bool:
    """Return True if Host, Origin, cookie and key of a handshake are those of the user's page.

    hosts, cookie, token: as in drill.web.security.RequestGuard.
    """
    headers = connection.headers
    origin = headers.get("origin", "")
    protocols = connection.scope.get("subprotocols", ())
    keys = [name for name in protocols if name.startswith(KEY_PROTOCOL_PREFIX)]
    return (
        headers.get("host", "") in hosts
        and origin.startswith("http://")
        and origin.removeprefix("http://") in hosts
        and headers.get("sec-fetch-site", "same-origin") == "same-origin"
        and is_same(connection.cookies.get(cookie, ""), cookie_value(token))
        and SOCKET_PROTOCOL in protocols
        and len(keys) == 1
        and is_same(keys[0].removeprefix(KEY_PROTOCOL_PREFIX), request_key(token))
    )
