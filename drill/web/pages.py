"""The pages and what they load: a fixed table of names, read when the server starts."""

from collections.abc import Mapping
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined, TemplateNotFound
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from drill import __version__
from drill.core.errors import FaintcallError
from drill.session import settings
from drill.web.database import record

PAGES: Mapping[str, str] = {
    "/": "start",
    "/practise": "practise",
    "/measure": "measure",
    "/compare": "compare",
    "/listen": "listen",
    "/speak": "speak",
    "/report": "report",
    "/history": "history",
    "/settings": "settings",
    "/budget": "budget",
    "/help": "help",
}
KINDS = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".woff2": "font/woff2",
}


def page_routes(token: str) -> list[Route]:
    """Return the routes of the pages; token: of this start, which a page keeps to go on later."""
    environment = Environment(
        loader=PackageLoader("drill.web"), autoescape=True, undefined=StrictUndefined
    )

    def page(request: Request) -> Response:
        path = request.scope["path"]
        name = PAGES[path]
        try:
            template = environment.get_template(f"{name}.html")
        except TemplateNotFound:
            return HTMLResponse(f"<!doctype html><title>faintcall</title>{name}: no page", 404)
        told = {"page": name, "path": path, "token": token, "version": __version__}
        return HTMLResponse(template.render(**told, scheme=_scheme()))

    return [Route(path, page, methods=["GET"]) for path in PAGES]


def _scheme() -> str:
    """Return the colours that the user has set; a record that cannot be used is told elsewhere."""
    try:
        with record() as store:
            return str(settings.values(store)["scheme"])
    except FaintcallError:
        return str(settings.SETTINGS["scheme"].default)


def static_route() -> Route:
    """Return the route of styles, scripts and pictures. No path of a request reaches the disk."""
    found = {
        entry.name: (entry, KINDS[kind])
        for entry in files("drill.web").joinpath("static").iterdir()
        if entry.is_file() and (kind := "." + entry.name.rpartition(".")[2]) in KINDS
    }

    def static(request: Request) -> Response:
        if request.path_params["name"] not in found:
            raise HTTPException(404)
        entry, kind = found[request.path_params["name"]]
        return Response(entry.read_bytes(), media_type=kind)

    return Route("/static/{name}", static, methods=["GET"])
