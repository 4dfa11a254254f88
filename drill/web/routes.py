"""The API: which address is which function, and how it reads and answers."""

from collections.abc import Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from drill.session.catalogue import offers
from drill.web import request_fields
from drill.web.api.sending import Speaking
from drill.web.api.sessions import Desk
from drill.web.api.settings import cautions, confirm, set_values, settings_told
from drill.web.audio_cache import Sounds
from drill.web.looking import Looking
from drill.web.security import TAKES

WAV = "audio/wav"
ONE = "/api/sittings/{id}"
ITEM = f"{ONE}/items/{{number:int}}"


def api_routes() -> list[Route]:
    """Return all routes of the API but the exchange of tokens."""
    desk, sounds = Desk(), Sounds()
    looking = Looking(sounds)
    return [
        *sitting_routes(desk),
        *speak_routes(Speaking(sounds)),
        got("/api/choices", lambda _: offers()),
        got("/api/history", lambda r: looking.history(r.query_params.get("limit"))),
        got("/api/history/{id}", lambda r: looking.answers(r.path_params["id"])),
        got("/api/report", lambda _: looking.report()),
        posted("/api/listen", lambda _, data: looking.listen(data)),
        heard("/api/sounds/{name}.wav", lambda r: looking.sound(r.path_params["name"])),
        posted("/api/budget", lambda _, data: looking.budget(data)),
        got("/api/settings", lambda _: settings_told()),
        posted("/api/settings", lambda _, data: set_values(data)),
        got("/api/cautions", lambda _: cautions()),
        posted("/api/cautions", lambda _, data: confirm(data)),
    ]


def sitting_routes(desk: Desk) -> list[Route]:
    """Return the routes of sittings."""
    return [
        got("/api/sittings", lambda _: {"open": desk.open()}),
        posted("/api/sittings", lambda _, data: desk.begin(data)),
        got(ONE, lambda r: desk.state(r.path_params["id"])),
        got(f"{ONE}/result", lambda r: desk.result(r.path_params["id"])),
        got(ITEM, lambda r: desk.item(r.path_params["id"], r.path_params["number"])),
        *(heard(f"{ITEM}/{which}.wav", _sound_of(desk, which)) for which in ("noise", "clean")),
        posted(f"{ONE}/answers", lambda r, data: desk.answer(r.path_params["id"], data)),
    ]


def speak_routes(speaking: Speaking) -> list[Route]:
    """Return the routes of the sending drill."""
    return [
        got("/api/speak", lambda _: speaking.known()),
        posted("/api/speak", lambda _, data: speaking.settle(data)),
        posted("/api/speak/prompts", lambda _, data: speaking.ask(data)),
        posted("/api/speak/far", lambda _, data: speaking.far(data)),
        sounded(TAKES, lambda r, data: speaking.take(dict(r.query_params), data)),
    ]


def _sound_of(desk: Desk, which: str) -> Callable[[Request], bytes]:
    return lambda r: desk.sound(r.path_params["id"], r.path_params["number"], which)


def got(path: str, handle: Callable[[Request], Any]) -> Route:
    """Return a route that answers with JSON; starlette runs it in a thread."""

    def endpoint(request: Request) -> Response:
        return JSONResponse(handle(request))

    return Route(path, endpoint, methods=["GET"])


def posted(path: str, handle: Callable[[Request, dict[str, Any]], Any]) -> Route:
    """Return a route that reads its JSON in the loop and works in a thread."""

    async def endpoint(request: Request) -> Response:
        data = request_fields.read(await request.body())
        return JSONResponse(await run_in_threadpool(handle, request, data))

    return Route(path, endpoint, methods=["POST"])


def sounded(path: str, handle: Callable[[Request, bytes], Any]) -> Route:
    """Return a route that takes a sound in the loop and works in a thread."""

    async def endpoint(request: Request) -> Response:
        data = await request.body()
        return JSONResponse(await run_in_threadpool(handle, request, data))

    return Route(path, endpoint, methods=["POST"])


def heard(path: str, handle: Callable[[Request], bytes]) -> Route:
    """Return a route that answers with a WAV file."""

    def endpoint(request: Request) -> Response:
        return Response(handle(request), media_type=WAV)

    return Route(path, endpoint, methods=["GET"])
