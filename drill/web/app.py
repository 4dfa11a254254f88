"""The application: pages, the API, and one sentence for everything that goes wrong."""

from collections.abc import Callable, Collection
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from drill.errors import FaintcallError, MachineLack
from drill.web import bodies
from drill.web.guard import Guard
from drill.web.pages import page_routes, static_route
from drill.web.sittings import Conflict, Desk, Unknown

LOCAL = ("127.0.0.1", "localhost")


def application(*, token: str, last: str | None, port: int) -> Starlette:
    """Return the application of one start.

    token: what the address printed carries. last: the token of the start before, whose open pages
    may go on; None for none. port: on which the server is reached.
    """
    return made(token=token, last=last, hosts=[f"{name}:{port}" for name in LOCAL], port=port)


def made(*, token: str, last: str | None, hosts: Collection[str], port: int) -> Starlette:
    """Return the application for these values of the Host header."""
    cookie = f"faintcall-{port}"
    desk = Desk()
    routes = [
        *page_routes(token),
        static_route(),
        *sitting_routes(desk),
    ]
    return Starlette(
        routes=routes,
        middleware=[Middleware(Guard, hosts=hosts, token=token, cookie=cookie)],
        exception_handlers={HTTPException: _http, FaintcallError: _told},
    )


def _http(_: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = {404: "there is nothing of that name here", 405: "that cannot be done here"}
    return JSONResponse(
        {"error": words.get(error.status_code, "that did not work")}, error.status_code
    )


def _told(_: Request, error: Exception) -> Response:
    body: dict[str, Any] = {"error": str(error)}
    if isinstance(error, Conflict):
        return JSONResponse({**body, "state": error.state}, 409)
    status = 404 if isinstance(error, Unknown) else 503 if isinstance(error, MachineLack) else 400
    return JSONResponse(body, status)


def posted(handle: Callable[[Request, dict[str, Any]], Any]) -> Callable[[Request], Any]:
    """Return an endpoint that reads its JSON in the loop and works in a thread."""
    from starlette.concurrency import run_in_threadpool

    async def endpoint(request: Request) -> Response:
        data = bodies.read(await request.body())
        return JSONResponse(await run_in_threadpool(handle, request, data))

    return endpoint


def got(handle: Callable[[Request], Any]) -> Callable[[Request], Response]:
    """Return an endpoint that answers with JSON; starlette runs it in a thread."""

    def endpoint(request: Request) -> Response:
        return JSONResponse(handle(request))

    return endpoint


def sitting_routes(desk: Desk) -> list[Route]:
    """Return the routes of sittings."""

    def sound(request: Request) -> Response:
        values = request.path_params
        data = desk.sound(values["id"], values["number"], values["which"])
        return Response(data, media_type="audio/wav")

    one = "/api/sittings/{id}"
    return [
        Route("/api/sittings", got(lambda _: {"open": desk.open()}), methods=["GET"]),
        Route("/api/sittings", posted(lambda _, data: desk.begin(data)), methods=["POST"]),
        Route(one, got(lambda r: desk.state(r.path_params["id"])), methods=["GET"]),
        Route(
            f"{one}/items/{{number:int}}",
            got(lambda r: desk.item(r.path_params["id"], r.path_params["number"])),
            methods=["GET"],
        ),
        Route(f"{one}/items/{{number:int}}/{{which}}.wav", sound, methods=["GET"]),
        Route(
            f"{one}/answers",
            posted(lambda r, data: desk.answer(r.path_params["id"], data)),
            methods=["POST"],
        ),
    ]
