"""/api/again: lets a page that was open before a restart continue with the new run."""

import hmac

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from drill.core.validation import checked_entries
from drill.web import request_fields
from drill.web.security import AGAIN_PATH, set_token_cookie


def again_route(*, token: str, previous_token: str | None, cookie: str) -> Route:
    """Return the route that trades the token of this or the previous run for a new cookie.

    token, previous_token: as in drill.web.app.create_app. cookie: the cookie's name.
    """

    async def again(request: Request) -> Response:
        entries = checked_entries(
            request_fields.json_object(await request.body()),
            {"token": request_fields.short_text},
        )
        given = entries.get("token", "").encode()
        # Compare with both tokens in any case, so that the response time reveals nothing.
        matches = [
            hmac.compare_digest(given, known.encode()) for known in (token, previous_token or token)
        ]
        if not any(matches):
            message = "This page belongs to an earlier run. Open the address shown in the terminal."
            return JSONResponse({"error": message}, 403)
        response = JSONResponse({"token": token})
        set_token_cookie(response, cookie, token)
        return response

    return Route(AGAIN_PATH, again, methods=["POST"])
