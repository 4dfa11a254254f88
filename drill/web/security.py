"""Request guard: lets only the user's own page in, and limits what a request may send.

Any website that the user has open can send requests to this machine. Every request must therefore
name this server in its Host header (which stops DNS rebinding) and carry the cookie that only the
printed address sets. A request that changes something is a POST with a JSON or audio body whose
Origin is this server. Source: OWASP cheat sheets on cross-site request forgery and DNS rebinding;
Fetch Metadata Request Headers (W3C).
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
class BodyRule:
    """The content types and the size that an address accepts."""

    content_types: tuple[str, ...]
    max_bytes: int


MAX_JSON_BYTES = 64 * 1024
JSON_RULE = BodyRule(content_types=("application/json",), max_bytes=MAX_JSON_BYTES)
TAKES_PATH = "/api/speak/takes"
AUDIO_RULE = BodyRule(content_types=("audio/wav", "audio/flac"), max_bytes=6 * 1024 * 1024)
"""Like JSON, an HTML form cannot send these types: a script of another site would first need the
server's permission (CORS preflight), which is refused."""
BODY_RULES = {TAKES_PATH: AUDIO_RULE}
"""Addresses that accept something other than JSON."""
BODY_TIMEOUT_S = 10.0
AGAIN_PATH = "/api/again"
"""Renews the cookie after a restart; the only address that needs no cookie."""
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


class RequestGuard:
    """ASGI middleware that answers every request which is not from the user's own page.

    hosts: accepted values of the Host header, such as "127.0.0.1:7388". token: of this run.
    cookie: the cookie's name; it contains the port, since all ports of a host share their cookies.
    """

    def __init__(self, app: ASGIApp, *, hosts: Collection[str], token: str, cookie: str) -> None:
        """Wrap an application."""
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
            return  # the server closes WebSocket connections

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in SECURITY_HEADERS.items():
                    headers[name] = value
            await send(message)

        request = Request(scope)
        response = self._refusal_or_login(request)
        if response is not None:
            await response(scope, receive, send_with_headers)
            return
        if scope["method"] == "POST":
            body = await _read_body(receive, _body_rule(scope["path"]).max_bytes)
            if isinstance(body, Response):
                await body(scope, receive, send_with_headers)
                return
            receive = _replay(body, receive)
        await self._app(scope, receive, send_with_headers)

    def _refusal_or_login(self, request: Request) -> Response | None:
        """Return the response to a request that does not reach the application, else None."""
        if request.headers.get("host", "") not in self._hosts:
            return _refuse(403, "this server answers only to its own address on this machine")
        if request.method not in ("GET", "HEAD", "POST"):
            return _refuse(405, f"method {request.method[:20]} is not allowed; use GET or POST")
        is_post = request.method == "POST"
        refusal = _refuse_post(request, self._hosts) if is_post else _refuse_get(request.headers)
        needs_no_cookie = is_post and request.scope["path"] == AGAIN_PATH
        if refusal is not None or needs_no_cookie:
            return refusal
        if self._is_token(request.cookies.get(self._cookie, "")):
            return None
        return self._login(request)

    def _login(self, request: Request) -> Response:
        """Exchange a valid ?token= for the cookie, otherwise answer 403."""
        if request.scope["path"] != "/" or request.method != "GET":
            return _refuse(403, LOGIN_HINT)
        if not self._is_token(request.query_params.get("token", "")):
            return PlainTextResponse(LOGIN_HINT, 403)
        response = RedirectResponse("/", 303)
        set_token_cookie(response, self._cookie, self._token)
        return response

    def _is_token(self, value: str) -> bool:
        return hmac.compare_digest(value.encode(), self._token.encode())


def set_token_cookie(response: Response, cookie: str, token: str) -> None:
    """Add the token as a cookie that scripts cannot read and other sites cannot send."""
    response.set_cookie(cookie, token, httponly=True, samesite="strict", path="/")


def _refuse_get(headers: Headers) -> Response | None:
    """Return the refusal of a request that another site's page makes, else None.

    A page from another port of this machine counts as "same-site": a site has no port.
    """
    if headers.get("sec-fetch-site") in ("cross-site", "same-site"):
        return _refuse(403, FOREIGN_ORIGIN)
    return None


def _body_rule(path: str) -> BodyRule:
    return BODY_RULES.get(path, JSON_RULE)


def _refuse_post(request: Request, hosts: Collection[str]) -> Response | None:
    """Return the refusal of a POST with a wrong origin, content type or length, else None."""
    headers, rule = request.headers, _body_rule(request.scope["path"])
    origin = headers.get("origin", "")
    if not origin.startswith("http://") or origin.removeprefix("http://") not in hosts:
        return _refuse(403, FOREIGN_ORIGIN)
    if headers.get("sec-fetch-site", "same-origin") != "same-origin":
        return _refuse(403, FOREIGN_ORIGIN)
    if headers.get("content-type", "").split(";")[0].strip().lower() not in rule.content_types:
        content = "JSON" if rule is JSON_RULE else "audio"
        types = " or ".join(rule.content_types)
        return _refuse(400, f"the request body has to be {content} (content-type {types})")
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
