"""The addresses of hunts: the form, the socket, and overs by microphone."""

from starlette.routing import BaseRoute

from drill.web.api.hunts import HuntApi
from drill.web.body_rules import HUNT_VOICE_PATH
from drill.web.hunt_end_routes import hunt_end_routes
from drill.web.hunt_feeds import HuntFeeds
from drill.web.hunt_socket import hunt_socket_route
from drill.web.routes import get_json, post_file, post_json


def hunt_routes() -> list[BaseRoute]:
    """Return all routes of hunts."""
    feeds = HuntFeeds()
    hunts = HuntApi(feeds)
    return [
        get_json("/api/hunts", lambda _: hunts.options()),
        post_json("/api/hunts", lambda _, data: hunts.begin(data)),
        get_json("/api/hunts/{id}", lambda r: hunts.hunt(r.path_params["id"])),
        post_file(HUNT_VOICE_PATH, lambda r, data: hunts.speak(dict(r.query_params), data)),
        hunt_socket_route(feeds),
        *hunt_end_routes(),
    ]
