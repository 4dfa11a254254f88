"""The guard of WebSockets: only the user's own page opens one."""

import pytest
from starlette.requests import HTTPConnection

from drill.web.page_key import cookie_value, request_key
from drill.web.socket_guard import KEY_PROTOCOL_PREFIX, SOCKET_PROTOCOL, socket_is_admitted
from tests.web.client import HOST, PORT, TOKEN

COOKIE = f"faintcall-{PORT}"
GOOD_HEADERS = {
    "host": HOST,
    "origin": f"http://{HOST}",
    "cookie": f"{COOKIE}={cookie_value(TOKEN)}",
    "sec-fetch-site": "same-origin",
}
GOOD_PROTOCOLS = (SOCKET_PROTOCOL, KEY_PROTOCOL_PREFIX + request_key(TOKEN))


def is_admitted(
    headers: dict[str, str | None], protocols: tuple[str, ...] = GOOD_PROTOCOLS
) -> bool:
    """Return True if a handshake is admitted. headers: those that differ from the page's own."""
    sent = {name: value for name, value in {**GOOD_HEADERS, **headers}.items() if value is not None}
    scope = {
        "type": "websocket",
        "headers": [(name.encode(), value.encode()) for name, value in sent.items()],
        "subprotocols": list(protocols),
    }
    return socket_is_admitted(HTTPConnection(scope), hosts=[HOST], cookie=COOKIE, token=TOKEN)


def test_the_users_own_page_is_admitted() -> None:
    assert is_admitted({})
    assert is_admitted({"sec-fetch-site": None})


@pytest.mark.parametrize(
    "headers",
    [
        {"host": "faintcall.example"},
        {"host": None},
        {"origin": None},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:7389"},
        {"origin": f"https://{HOST}"},
        {"origin": f"http://{HOST}.example"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"cookie": None},
        {"cookie": f"{COOKIE}={TOKEN}"},
        {"cookie": f"{COOKIE}={request_key(TOKEN)}"},
    ],
)
def test_every_other_page_is_refused(headers: dict[str, str | None]) -> None:
    assert not is_admitted(headers)


@pytest.mark.parametrize(
    "protocols",
    [
        (),
        (SOCKET_PROTOCOL,),
        GOOD_PROTOCOLS[1:],
        (SOCKET_PROTOCOL, KEY_PROTOCOL_PREFIX),
        (SOCKET_PROTOCOL, KEY_PROTOCOL_PREFIX + cookie_value(TOKEN)),
        (*GOOD_PROTOCOLS, KEY_PROTOCOL_PREFIX + "x"),
    ],
)
def test_a_handshake_without_the_key_is_refused(protocols: tuple[str, ...]) -> None:
    assert not is_admitted({}, protocols)
