"""The application: pages, the API, and one sentence for everything that goes wrong."""

import hmac
import re
import sys
from collections.abc import Collection
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from drill.core.errors import FaintcallError, ResourceUnavailable
from drill.web import request_fields
from drill.web.api.sessions import Conflict
from drill.web.database import Unknown
from drill.web.pages import page_routes, static_route
from drill.web.routes import api_routes
from drill.web.security import AGAIN, HEADERS, Guard, admit

NAMES = ("127.0.0.1", "localhost")
OPTIONS = {
    "--snr": "the SNR",
    "--watts": "the watts",
    "--path-snr": "the SNR of the path",
    "--part": "the part",
    "with --train": "in training",
    "faintcall compare": "a comparison",
}
"""What the page calls what the terminal's messages name."""


def application(*, token: str, last: str | None, port: int) -> Starlette:
    """Return the application of one start.

    token: what the address printed carries. last: the token of the start before, whose open pages
    may go on; None for none. port: on which the server is reached.
    """
    return made(token=token, last=last, hosts=[f"{name}:{port}" for name in NAMES], port=port)


def made(*, token: str, last: str | None, hosts: Collection[str], port: int) -> Starlette:
    """Return the application for these values of the Host header."""
    cookie = f"faintcall-{port}"
    app = Starlette(
        routes=[
            *page_routes(token),
            static_route(),
            *api_routes(),
            again_route(token=token, last=last, cookie=cookie),
        ],
        middleware=[Middleware(Guard, hosts=hosts, token=token, cookie=cookie)],
        exception_handlers={
            HTTPException: _nothing_there,
            FaintcallError: _told,
            Exception: _broken,
        },
    )
    app.router.redirect_slashes = False
    return app


def again_route(*, token: str, last: str | None, cookie: str) -> Route:
    """Return the route by which a page of the last start goes on with this one."""

    async def again(request: Request) -> Response:
        found = request_fields.take(
            request_fields.read(await request.body()), {"token": request_fields.text}
        )
        given = found.get("token", "").encode()
        # Both are compared, so that the time taken tells nothing.
        known = [hmac.compare_digest(given, one.encode()) for one in (token, last or token)]
        if not any(known):
            return JSONResponse({"error": "this page is of another start; open it anew"}, 403)
        answer = JSONResponse({"token": token})
        admit(answer, cookie, token)
        return answer

    return Route(AGAIN, again, methods=["POST"])


def _nothing_there(_: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = {404: "there is nothing of that name here", 405: "that cannot be done here"}
    told = words.get(error.status_code, "that did not work")
    return JSONResponse({"error": told}, error.status_code)


def _told(_: Request, error: Exception) -> Response:
    """Return what the user reads: one line."""
    words = re.sub("|".join(OPTIONS), lambda found: OPTIONS[found[0]], str(error))
    body: dict[str, Any] = {"error": " ".join(words.split())}
    if isinstance(error, Conflict):
        return JSONResponse({**body, "state": error.state}, 409)
    if hasattr(error, "field"):
        body["field"] = error.field
    status = 404 if isinstance(error, Unknown) else 503 if isinstance(error, ResourceUnavailable) else 400
    return JSONResponse(body, status)


def _broken(_: Request, error: Exception) -> Response:
    """Tell of a mistake of the program: where it is, and nothing of what was typed."""
    place, trace = "", error.__traceback__
    while trace is not None:
        place = f"{Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}"
        trace = trace.tb_next
    print(
        f"faintcall: a mistake of the program: {type(error).__name__} in {place}", file=sys.stderr
    )
    told = f"a mistake of the program ({type(error).__name__} in {place}); please report it"
    return JSONResponse({"error": told}, 500, HEADERS)  # made outside of the guard
