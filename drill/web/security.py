"""Request guard: accepts requests from the user's own page only, and limits their size and type.

Any website that the user has open can send requests to this computer. Every request must therefore
name this server in its Host header (which stops DNS rebinding) and carry the cookie that only the
printed address sets. Browsers send a cookie to every port of a host, so each API request carries
the key of the run in a header too, which only the page sends. A request that changes something is a
POST with a JSON or audio body whose Origin is this server. Source: OWASP cheat sheets on cross-site
request forgery and DNS rebinding; Fetch Metadata Request Headers (W3C); RFC 6265, section 8.5
(cookies do not provide isolation by port).
"""

import asyncio
from collections.abc import Callable, Collection

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection, Request
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from drill.web.body_rules import body_rule
from drill.web.page_key import cookie_value, is_same, request_key
from drill.web.socket_guard import socket_is_admitted

BODY_TIMEOUT_S = 10.0
AGAIN_PATH = "/api/again"
"""Renews the cookie after a restart; the only address that needs neither cookie nor key."""
KEY_HEADER = "x-faintcall-key"
LOGIN_SCOPE = "faintcall_login"
"""Entry of the ASGI scope: True if the printed address was opened, so that the page gets its
key."""
CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "font-src 'self'",
        "img-src 'self' data:",
        "media-src 'self' blob:",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
SECURITY_HEADERS = {
    "content-security-policy": CONTENT_SECURITY_POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "microphone=(self), camera=(), geolocation=()",
}
LOGIN_HINT = (
    "This page opens only with the address that faintcall prints when it starts. "
    "Start faintcall again, or copy the whole address from the terminal."
)
FOREIGN_ORIGIN = "requests from other websites are refused"
FOREIGN_SOCKET = "this socket opens only from the page of the printed address"
KEY_HINT = "This page has lost its key. Open the address shown in the terminal."

ErrorResponse = Callable[[Request, int, str], Response]
"""Takes a request, an HTTP status and a message; returns a page or JSON."""


class RequestGuard:
    """ASGI middleware that rejects every request that is not from the user's own page.

    hosts: accepted values of the Host header, such as "127.0.0.1:7388". token: of this run.
    cookie: the cookie's name. error_response: makes the response to a refused request.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        hosts: Collection[str],
        token: str,
        cookie: str,
        error_response: ErrorResponse,
    ) -> None:
        """Wrap an application."""
        self._app = app
        self._hosts = frozenset(hosts)
        self._token = token
        self._cookie = cookie
        self._error_response = error_response

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] == "websocket":
            await self._admit_socket(scope, receive, send)
            return
        request = Request(scope)
        is_login = self._is_login(request)
        scope[LOGIN_SCOPE] = is_login

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in SECURITY_HEADERS.items():
                    headers[name] = value
                if is_login:
                    headers.append("set-cookie", _cookie_header(self._cookie, self._token))
            await send(message)

        response = None if is_login else self._refusal(request)
        if response is not None:
            await response(scope, receive, send_with_headers)
            return
        if scope["method"] == "POST":
            body = await _read_body(receive, body_rule(scope["path"]).max_bytes)
            if isinstance(body, Response):
                await body(scope, receive, send_with_headers)
                return
            receive = _replay(body, receive)
        await self._app(scope, receive, send_with_headers)

    async def _admit_socket(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a WebSocket of the user's own page on; refuse the handshake of any other."""
        connection = HTTPConnection(scope)
        if socket_is_admitted(
            connection, hosts=self._hosts, cookie=self._cookie, token=self._token
        ):
            await self._app(scope, receive, send)
        else:
            await _refuse(403, FOREIGN_SOCKET)(scope, receive, send)

    def _is_login(self, request: Request) -> bool:
        """Return True if the printed address is opened, from any origin: it contains the token."""
        return (
            request.method == "GET"
            and request.scope["path"] == "/"
            and request.headers.get("host", "") in self._hosts
            and is_same(request.query_params.get("token", ""), self._token)
        )

    def _refusal(self, request: Request) -> Response | None:
        """Return the response to a request that does not reach the application, else None."""
        path, headers = request.scope["path"], request.headers
        if headers.get("host", "") not in self._hosts:
            return _refuse(403, "this server answers only to its own address on this computer")
        if request.method not in ("GET", "HEAD", "POST"):
            return _refuse(405, f"method {request.method[:20]} is not allowed; use GET or POST")
        is_post = request.method == "POST"
        refusal = _refuse_post(request, self._hosts) if is_post else _refuse_get(headers)
        if refusal is not None or (is_post and path == AGAIN_PATH):
            return refusal
        if not is_same(request.cookies.get(self._cookie, ""), cookie_value(self._token)):
            return self._error_response(request, 403, LOGIN_HINT)
        if path.startswith("/api/") and not is_same(
            headers.get(KEY_HEADER, ""), request_key(self._token)
        ):
            return self._error_response(request, 403, KEY_HINT)
        return None


def set_token_cookie(response: Response, cookie: str, token: str) -> None:
    """Add the cookie of a run; scripts cannot read it and other sites cannot send it."""
    response.headers.append("set-cookie", _cookie_header(cookie, token))


def _cookie_header(cookie: str, token: str) -> str:
    return f"{cookie}={cookie_value(token)}; HttpOnly; SameSite=strict; Path=/"


def _refuse_get(headers: Headers) -> Response | None:
    """Return the refusal of a request that another site's page makes, else None.

    A page from another port of this computer counts as "same-site", because a site has no port.
    """
    if headers.get("sec-fetch-site") in ("cross-site", "same-site"):
        return _refuse(403, FOREIGN_ORIGIN)
    return None


def _refuse_post(request: Request, hosts: Collection[str]) -> Response | None:
    """Return the refusal of a POST with a wrong origin, content type or length, else None."""
    headers, rule = request.headers, body_rule(request.scope["path"])
    origin = headers.get("origin", "")
    if not origin.startswith("http://") or origin.removeprefix("http://") not in hosts:
        return _refuse(403, FOREIGN_ORIGIN)
    if headers.get("sec-fetch-site", "same-origin") != "same-origin":
        return _refuse(403, FOREIGN_ORIGIN)
    if headers.get("content-type", "").split(";")[0].strip().lower() not in rule.content_types:
        types = " or ".join(rule.content_types)
        return _refuse(400, f"the request body has to be {rule.label} (content-type {types})")
    length = headers.get("content-length", "")
    if length and (not length.isdigit() or len(length) > 12 or int(length) > rule.max_bytes):
        return _refuse_size(rule.max_bytes)
    return None


async def _read_body(receive: Receive, max_bytes: int) -> bytes | Response:
    """Return the whole body, or the refusal of one that is too long or too slow."""
    parts: list[bytes] = []
    total = 0
    try:
        async with asyncio.timeout(BODY_TIMEOUT_S):
            more = True
            while more:
                message = await receive()
                if message["type"] != "http.request":
                    return _refuse(400, "the connection closed before the whole body arrived")
                parts.append(message.get("body", b""))
                total += len(parts[-1])
                if total > max_bytes:
                    return _refuse_size(max_bytes)
                more = message.get("more_body", False)
    except TimeoutError:
        return _refuse(400, f"the body did not arrive within {BODY_TIMEOUT_S:g} seconds")
    return b"".join(parts)


def _replay(body: bytes, receive: Receive) -> Receive:
    """Return a receive function that delivers the body once, then the server's own messages."""
    delivered = False

    async def replay() -> Message:
        nonlocal delivered
        if delivered:
            return await receive()
        delivered = True
        return {"type": "http.request", "body": body, "more_body": False}

    return replay


def _refuse_size(max_bytes: int) -> Response:
    return _refuse(413, f"the request body is too large; the limit is {max_bytes} bytes")


def _refuse(status: int, message: str) -> Response:
    return JSONResponse({"error": message}, status)
