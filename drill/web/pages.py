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
from drill.web.page_key import request_key
from drill.web.security import LOGIN_SCOPE

PAGES: Mapping[str, str] = {
    "/": "start",
    "/contact": "contact",
    "/hunt": "hunt",
    "/hunt-end": "hunt-end",
    "/practise": "practise",
    "/measure": "measure",
    "/compare": "compare",
    "/listen": "listen",
    "/speak": "speak",
    "/report": "report",
    "/history": "history",
    "/settings": "settings",
    "/club": "club",
    "/own-voice": "own-voice",
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
"""Additional values for single templates."""
MEDIA_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".woff2": "font/woff2",
}


class Pages:
    """The pages of one run, rendered from templates with the values that every page needs.

    token: of the run; the page that the printed address opens gets the key derived from it.
    """

    def __init__(self, token: str) -> None:
        """Prepare the templates."""
        self._request_key = request_key(token)
        self._environment = Environment(
            loader=PackageLoader("drill.web"), autoescape=True, undefined=StrictUndefined
        )

    def routes(self) -> list[Route]:
        """Return the routes for all pages."""
        routes = [Route(path, self._page, methods=["GET"]) for path in PAGES]
        return [*routes, Route("/help/{topic}", self._help_topic, methods=["GET"])]

    def refusal(self, message: str, *, status: int, standalone: bool) -> HTMLResponse:
        """Return the page for an address that cannot be shown.

        standalone: without style sheets and links, because the browser is not logged in.
        """
        if standalone:
            return self._render("refused", {"message": message}, status=status)
        return self._render("not_found", status=status)

    def _page(self, request: Request) -> Response:
        name = PAGES[request.scope["path"]]
        values = dict(PAGE_VALUES.get(name, {}))
        if request.scope.get(LOGIN_SCOPE):
            values["key"] = self._request_key
        return self._render(name, values)

    def _help_topic(self, request: Request) -> Response:
        topic = request.path_params["topic"]
        if topic not in TOPICS:
            return self._render("not_found", status=404)
        values = {"title": manual_page(topic).title, "text": manual_html(topic)}
        return self._render("help_topic", values)

    def _render(
        self, name: str, values: Mapping[str, object] | None = None, *, status: int = 200
    ) -> HTMLResponse:
        """Return the page of a template with an HTTP status. values: for this template only."""
        common = {
            "page": name,
            "key": "",
            "version": __version__,
            "scheme": _colour_scheme(),
        }
        html = self._environment.get_template(f"{name}.html").render({**common, **(values or {})})
        return HTMLResponse(html, status)


def _colour_scheme() -> str:
    """Return the user's colour scheme, the default if the record cannot be read."""
    try:
        with open_record() as store:
            return str(setting_values(store)["scheme"])
    except FaintcallError:  # the page reports the problem when it calls the API
        return str(known_settings()["scheme"].default)


def static_route() -> Route:
    """Return the route for style sheets, scripts, pictures and typefaces.

    The list of files is read once, so a path in a request is never looked up on the disk.
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
