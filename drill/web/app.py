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
from drill.core.packages import missing_package
from drill.web.api.again import again_route, page_key_route
from drill.web.api.sessions import ItemConflict
from drill.web.database import NotFoundError
from drill.web.hunt_routes import hunt_routes
from drill.web.pages import Pages, static_route
from drill.web.routes import api_routes
from drill.web.security import SECURITY_HEADERS, RequestGuard

HOST_NAMES = ("127.0.0.1", "localhost")
HTTP_ERRORS = {404: "not found", 405: "this address does not accept that method"}


def create_app(*, token: str, page_key: str, port: int) -> Starlette:
    """Return the application of one run of the program.

    token: part of the printed address; admits a browser. page_key: see drill.web.page_key. port: of
    the server.
    """
    cookie = f"faintcall-{port}"
    pages = Pages(token)

    def error_response(request: Request, status: int, message: str) -> Response:
        if "text/html" in request.headers.get("accept", ""):  # a browser shows it as a page
            return pages.refusal(message, status=status, standalone=status == 403)
        return JSONResponse({"error": message}, status)

    def http_error(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        message = HTTP_ERRORS.get(error.status_code, "the request failed")
        return error_response(request, error.status_code, message)

    app = Starlette(
        routes=[
            *pages.routes(),
            static_route(),
            *api_routes(),
            *hunt_routes(),
            page_key_route(page_key),
            again_route(token=token, page_key=page_key, port=port, cookie=cookie),
        ],
        middleware=[
            Middleware(
                RequestGuard,
                hosts=[f"{name}:{port}" for name in HOST_NAMES],
                token=token,
                cookie=cookie,
                error_response=error_response,
            )
        ],
        exception_handlers={
            HTTPException: http_error,
            FaintcallError: _faintcall_error,
            ImportError: _import_error,
            Exception: _internal_error,
        },
    )
    app.router.redirect_slashes = False
    return app


def _import_error(request: Request, error: Exception) -> Response:
    """Return the error about a missing package; a failed import within faintcall is a bug."""
    assert isinstance(error, ImportError)
    missing = missing_package(error)
    return (
        _internal_error(request, error) if missing is None else _faintcall_error(request, missing)
    )


def _faintcall_error(_: Request, error: Exception) -> Response:
    """Return the error's message, with the name of the wrong field if it has one."""
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
    # Starlette sends this response outside the middleware that adds the headers.
    return JSONResponse({"error": f"{report}; please report it"}, 500, SECURITY_HEADERS)
