"""The HTML pages, the manual under /help, and the static files."""

from collections.abc import Mapping
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from drill import __version__
from drill.core.errors import FaintcallError
from drill.linkbudget.form import FORM_NUMBERS, NOISE_PLACES
from drill.linkbudget.noise_levels import NOISE_CATEGORIES
from drill.manual import TOPICS, manual_page, manual_pages
from drill.manual.html import manual_html
from drill.session.settings import known_settings, setting_values
from drill.web.database import open_record

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
"""Template of each address, in drill/web/templates."""
PAGE_VALUES: Mapping[str, Mapping[str, object]] = {
    "help": {"topics": manual_pages()},
    "budget": {
        "numbers": FORM_NUMBERS,
        "categories": list(NOISE_CATEGORIES),
        "places": NOISE_PLACES,
    },
}
"""What single templates need in addition."""
MEDIA_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".woff2": "font/woff2",
}


class _Templates:
    """Renders templates with what every page needs."""

    def __init__(self, token: str) -> None:
        self._token = token
        self._environment = Environment(
            loader=PackageLoader("drill.web"), autoescape=True, undefined=StrictUndefined
        )

    def render(
        self, name: str, values: Mapping[str, object] | None = None, *, status: int = 200
    ) -> HTMLResponse:
        """Return the page of a template with an HTTP status. values: for this template only."""
        html = self._environment.get_template(f"{name}.html").render(
            page=name,
            token=self._token,
            version=__version__,
            scheme=_colour_scheme(),
            **(values or {}),
        )
        return HTMLResponse(html, status)


def page_routes(token: str) -> list[Route]:
    """Return the routes of all pages.

    token: of this run; each page carries it, to renew its cookie after a restart.
    """
    templates = _Templates(token)

    def page(request: Request) -> Response:
        name = PAGES[request.scope["path"]]
        return templates.render(name, PAGE_VALUES.get(name))

    def help_topic(request: Request) -> Response:
        topic = request.path_params["topic"]
        if topic not in TOPICS:
            return templates.render("not_found", status=404)
        values = {"title": manual_page(topic).title, "text": manual_html(topic)}
        return templates.render("help_topic", values)

    routes = [Route(path, page, methods=["GET"]) for path in PAGES]
    return [*routes, Route("/help/{topic}", help_topic, methods=["GET"])]


def _colour_scheme() -> str:
    """Return the user's colour scheme, the default if the record cannot be read."""
    try:
        with open_record() as store:
            return str(setting_values(store)["scheme"])
    except FaintcallError:  # the page reports the problem when it asks the API
        return str(known_settings()["scheme"].default)


def static_route() -> Route:
    """Return the route of style sheets, scripts, pictures and typefaces.

    The list of files is read once, so that no path in a request is ever looked up on the disk.
    """
    static_files = {
        entry.name: (entry, MEDIA_TYPES[suffix])
        for entry in files("drill.web").joinpath("static").iterdir()
        if entry.is_file() and (suffix := "." + entry.name.rpartition(".")[2]) in MEDIA_TYPES
    }

    def static(request: Request) -> Response:
        name = request.path_params["name"]
        if name not in static_files:
            raise HTTPException(404)
        entry, media_type = static_files[name]
        return Response(entry.read_bytes(), media_type=media_type)

    return Route("/static/{name}", static, methods=["GET"])
