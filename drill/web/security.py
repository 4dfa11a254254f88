"""What stands before every request: who may ask, from where, how much.

Any page that the user has open in the browser can send requests to this machine. So every request
has to name this server as its host (a foreign name that leads here is refused), and to carry the
cookie that only the address printed at the start gives. What changes something is a POST of JSON,
or of a sound, from a page of this very origin. Source: OWASP cheat sheets on cross-site request
forgery and on DNS rebinding; Fetch Metadata Request Headers (W3C).
"""

import asyncio
import hmac
from collections.abc import Collection
from dataclasses import dataclass

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send


@dataclass(frozen=True, kw_only=True)
class Sent:
    """What an address takes: kinds of content, and how much of it."""

    kinds: tuple[str, ...]
    most_bytes: int


MOST_BYTES = 64 * 1024
JSON = Sent(kinds=("application/json",), most_bytes=MOST_BYTES)
TAKES = "/api/speak/takes"
SENT = {TAKES: Sent(kinds=("audio/wav", "audio/flac"), most_bytes=6 * 1024 * 1024)}
"""Addresses that take something else than JSON. Neither kind can be sent by a form: another page
would have to ask first, and is refused."""
BODY_WAIT_S = 10.0
AGAIN = "/api/again"
"""Trades the cookie of the last start; the only path that asks for none."""
POLICY = "; ".join(
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
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "microphone=(self), camera=(), geolocation=()",
}
CLOSED = (
    "This page is open only by the address that faintcall prints when it starts. "
    "Start it again, or copy the whole address from the terminal."
)


class Guard:
    """Lets through what comes from this user's own page; answers all else itself.

    hosts: names and ports that this server is reached by, such as "127.0.0.1:7388". token: of this
    start. cookie: its name; cookies of one host are shared by all its ports.
    """

    def __init__(self, app: ASGIApp, *, hosts: Collection[str], token: str, cookie: str) -> None:
        """Stand before an app."""
        self._app = app
        self._hosts = frozenset(hosts)
        self._token = token
        self._cookie = cookie

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # there are no sockets here: the server closes it

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
            await send(message)

        request = Request(scope)
        refusal = self._refusal(request)
        if refusal is not None:
            await refusal(scope, receive, with_headers)
            return
        if scope["method"] == "POST":
            body = await _body(receive, _sent(scope["path"]).most_bytes)
            if isinstance(body, Response):
                await body(scope, receive, with_headers)
                return
            receive = _again(body, receive)
        await self._app(scope, receive, with_headers)

    def _refusal(self, request: Request) -> Response | None:
        """Return the answer to a request that may not pass, None where it may."""
        if request.headers.get("host", "") not in self._hosts:
            return _no(403, "this server answers only on this machine, by its own address")
        if request.method not in ("GET", "HEAD", "POST"):
            return _no(405, f"{request.method[:20]} is not among GET and POST")
        posts = request.method == "POST"
        refusal = _foreign(request, self._hosts) if posts else _strange(request.headers)
        again = posts and request.scope["path"] == AGAIN
        if refusal is not None or again or self._same(request.cookies.get(self._cookie, "")):
            return refusal
        return self._entrance(request)

    def _entrance(self, request: Request) -> Response:
        """Return the cookie for the token of the address, or the closed door."""
        if request.scope["path"] == "/" and request.method == "GET":
            if self._same(request.query_params.get("token", "")):
                answer = RedirectResponse("/", 303)
                admit(answer, self._cookie, self._token)
                return answer
            return PlainTextResponse(CLOSED, 403)
        return _no(403, CLOSED)

    def _same(self, token: str) -> bool:
        return hmac.compare_digest(token.encode(), self._token.encode())


def admit(answer: Response, cookie: str, token: str) -> None:
    """Give the cookie along with an answer: no script reads it, no other site sends it."""
    answer.set_cookie(cookie, token, httponly=True, samesite="strict", path="/")


def _strange(headers: Headers) -> Response | None:
    """Return a refusal of what another page of the browser loads from here.

    Another server of this machine is "same-site": a site has no port.
    """
    if headers.get("sec-fetch-site") in ("cross-site", "same-site"):
        return _no(403, "another page may not ask this one")
    return None


def _sent(path: str) -> Sent:
    return SENT.get(path, JSON)


def _foreign(request: Request, hosts: Collection[str]) -> Response | None:
    """Return a refusal of a POST that is not of this origin, kind and size."""
    headers, wanted = request.headers, _sent(request.scope["path"])
    origin = headers.get("origin", "")
    if origin.removeprefix("http://") not in hosts or not origin.startswith("http://"):
        return _no(403, "only the page itself may send something here")
    if headers.get("sec-fetch-site", "same-origin") != "same-origin":
        return _no(403, "only the page itself may send something here")
    if headers.get("content-type", "").split(";")[0].strip().lower() not in wanted.kinds:
        what = "JSON" if wanted is JSON else "a sound"
        return _no(400, f"what is sent has to be {what} (content-type {' or '.join(wanted.kinds)})")
    length = headers.get("content-length", "")
    if length and (not length.isdigit() or len(length) > 12 or int(length) > wanted.most_bytes):
        return _too_much(wanted.most_bytes)
    return None


async def _body(receive: Receive, most_bytes: int) -> bytes | Response:
    """Return the whole body, or the refusal of one that is too long or too slow."""
    parts: list[bytes] = []
    total = 0
    try:
        async with asyncio.timeout(BODY_WAIT_S):
            more = True
            while more:
                message = await receive()
                if message["type"] != "http.request":
                    return _no(400, "the connection ended before the whole was there")
                parts.append(message.get("body", b""))
                total += len(parts[-1])
                if total > most_bytes:
                    return _too_much(most_bytes)
                more = message.get("more_body", False)
    except TimeoutError:
        return _no(400, f"the whole has to be there within {BODY_WAIT_S:g} seconds")
    return b"".join(parts)


def _again(body: bytes, receive: Receive) -> Receive:
    """Return a receive that gives the body once, then what the server has to say."""
    given = False

    async def give() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return give


def _too_much(most_bytes: int) -> Response:
    return _no(413, f"too much at once; at most {most_bytes} bytes are taken")


def _no(status: int, sentence: str) -> Response:
    return JSONResponse({"error": sentence}, status)
