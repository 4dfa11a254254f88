"""The addresses of the ends of hunts."""

from collections.abc import Callable

from starlette.requests import Request
from starlette.routing import Route

from drill.web.api.hunt_ends import HuntEndApi
from drill.web.api.hunt_files import compare_hunts_json, hunt_file_bytes
from drill.web.routes import get_file, get_json, get_wav, post_json

HUNT = "/api/hunts/{id}"
HUNT_CONTACT = f"{HUNT}/contacts/{{number:int}}"


def hunt_end_routes() -> list[Route]:
    """Return all routes of the ends of hunts."""
    ends = HuntEndApi()
    return [
        get_file(
            "/api/hunt-files/{format}",
            lambda r: hunt_file_bytes(
                r.path_params["format"], own_call=r.query_params.get("own_call") == "1"
            ),
        ),
        post_json("/api/hunt-files/comparison", lambda _, data: compare_hunts_json(data)),
        get_json(f"{HUNT}/end", lambda r: ends.end(r.path_params["id"])),
        get_json(
            f"{HUNT_CONTACT}/overs",
            lambda r: ends.overs(r.path_params["id"], r.path_params["number"]),
        ),
        *(
            get_wav(f"{HUNT_CONTACT}/overs/{{index:int}}/{which}.wav", _hunt_over(ends, which))
            for which in ("noise", "clean")
        ),
    ]


def _hunt_over(ends: HuntEndApi, which: str) -> Callable[[Request], bytes]:
    return lambda r: ends.over_sound(
        r.path_params["id"], r.path_params["number"], r.path_params["index"], which
    )
