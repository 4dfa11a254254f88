"""/api/again: server and page prove their identity to each other, so that an open page can
continue.

The page first sends {"nonce"} and gets {"nonce", "proof"}: the server's nonce and its proof. Before
each request with content the page checks this proof, so that nothing reaches a program that took
over the port. After a restart the page also sends {"nonce", "server_nonce", "proof"} and gets the
cookie and {"key"}, the key for the requests of the new run.
"""

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from drill.core.validation import checked_entries, checked_text
from drill.web import request_fields
from drill.web.page_key import PAGE_ROLE, SERVER_ROLE, Challenges, is_same, proof, request_key
from drill.web.security import AGAIN_PATH, set_token_cookie

EARLIER_RUN = "This page belongs to an earlier run. Open the address shown in the terminal."
MAX_NONCE_LENGTH = 64


def _nonce(field: str, value: Any) -> str:
    return checked_text(field, value, longest=MAX_NONCE_LENGTH)


def again_route(*, token: str, page_key: str, port: int, cookie: str) -> Route:
    """Return the route.

    token, page_key, port: as in drill.web.app.create_app. cookie: the cookie's name.
    """
    challenges = Challenges()

    async def again(request: Request) -> Response:
        entries = checked_entries(
            request_fields.json_object(await request.body()),
            {"nonce": _nonce, "server_nonce": _nonce, "proof": _nonce},
            required=("nonce",),
        )
        nonce = entries["nonce"]
        if "server_nonce" not in entries:
            server_nonce = challenges.issue(nonce)
            own = proof(page_key, SERVER_ROLE, port, nonce, server_nonce)
            return JSONResponse({"nonce": server_nonce, "proof": own})
        server_nonce = entries["server_nonce"]
        expected = proof(page_key, PAGE_ROLE, port, nonce, server_nonce)
        is_fresh = challenges.redeem(nonce, server_nonce)
        if not is_same(entries.get("proof", ""), expected) or not is_fresh:
            return JSONResponse({"error": EARLIER_RUN}, 403)
        response = JSONResponse({"key": request_key(token)})
        set_token_cookie(response, cookie, token)
        return response

    return Route(AGAIN_PATH, again, methods=["POST"])


def page_key_route(page_key: str) -> Route:
    """Return the route of /api/page-key, which gives the key to a page that is logged in."""

    async def give(_: Request) -> Response:
        return JSONResponse({"key": page_key})

    return Route("/api/page-key", give, methods=["GET"])
