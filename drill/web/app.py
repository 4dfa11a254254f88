"""Builds the Starlette application: routes, middleware and error responses."""

import sys
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from drill.core.errors import FaintcallError, ResourceUnavailable, UserError
from drill.web.api.again import again_route
from drill.web.api.sessions import ItemConflict
from drill.web.database import NotFoundError
from drill.web.pages import page_routes, static_route
from drill.web.routes import api_routes
from drill.web.security import SECURITY_HEADERS, RequestGuard

HOST_NAMES = ("127.0.0.1", "localhost")
HTTP_ERRORS = {404: "not found", 405: "this address does not accept that method"}


def create_app(*, token: str, previous_token: str | None, port: int) -> Starlette:
    """Return the application of one run of the program.

    token: part of the printed address; admits a browser. previous_token: that of the run before on
    this port, so that pages still open can continue; None if there is none. port: of the server.
    """
    cookie = f"faintcall-{port}"
    app = Starlette(
        routes=[
            *page_routes(token),
            static_route(),
            *api_routes(),
            again_route(token=token, previous_token=previous_token, cookie=cookie),
        ],
        middleware=[
            Middleware(
                RequestGuard,
                hosts=[f"{name}:{port}" for name in HOST_NAMES],
                token=token,
                cookie=cookie,
            )
        ],
        exception_handlers={
            HTTPException: _http_error,
            FaintcallError: _faintcall_error,
            Exception: _internal_error,
        },
    )
    app.router.redirect_slashes = False
    return app


def _http_error(_: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    message = HTTP_ERRORS.get(error.status_code, "the request failed")
    return JSONResponse({"error": message}, error.status_code)


def _faintcall_error(_: Request, error: Exception) -> Response:
    """Return the error's one line, with the name of the wrong field if the error has one."""
    body: dict[str, Any] = {"error": " ".join(str(error).split())}
    if isinstance(error, UserError) and error.field:
        body["field"] = error.field
    if isinstance(error, ItemConflict):
        return JSONResponse({**body, "state": error.state}, 409)
    if isinstance(error, NotFoundError):
        return JSONResponse(body, 404)
    return JSONResponse(body, 503 if isinstance(error, ResourceUnavailable) else 400)


def _internal_error(_: Request, error: Exception) -> Response:
    """Report a bug by type and place; the message could contain what the trainee typed."""
    place, trace = "", error.__traceback__
    while trace is not None:
        place = f"{Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}"
        trace = trace.tb_next
    report = f"internal error: {type(error).__name__} in {place}"
    print(f"faintcall: {report}", file=sys.stderr)
    # Starlette sends this response outside the middleware, which would add the headers.
    return JSONResponse({"error": f"{report}; please report it"}, 500, SECURITY_HEADERS)
