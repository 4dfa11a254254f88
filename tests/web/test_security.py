"""The request guard: only the user's own page on this computer gets in."""

import re

import pytest
from starlette.testclient import TestClient

from drill.web.body_rules import MAX_JSON_BYTES
from drill.web.page_key import cookie_value
from drill.web.security import KEY_HEADER
from tests.web.client import HOST, ORIGIN, PAGE_KEY, PORT, TOKEN, anonymous_client

JSON_TYPE = {"content-type": "application/json"}


def refuse_reason(client: TestClient, method: str, path: str, **more: object) -> tuple[int, str]:
    """Send a request; return the status and the message of the response."""
    response = client.request(method, path, follow_redirects=False, **more)  # type: ignore[arg-type]
    is_json = "json" in response.headers["content-type"]
    message = response.json()["error"] if is_json else response.text
    assert "\n" not in message
    return response.status_code, message


@pytest.mark.parametrize(
    "path",
    ["/", "/practise", "/api/choices", "/api/sessions", "/api/settings", "/static/base.css"],
)
def test_no_address_opens_without_the_cookie(path: str) -> None:
    status, message = refuse_reason(anonymous_client(), "GET", path)
    assert status == 403
    assert "address that faintcall prints" in message


@pytest.mark.parametrize("token", ["", "x", TOKEN[:-1], TOKEN + "t", "ü", "%00", "\u2028"])
def test_wrong_token_sets_no_cookie(token: str) -> None:
    response = anonymous_client().get("/", params={"token": token}, follow_redirects=False)
    assert response.status_code == 403
    assert "set-cookie" not in response.headers


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize("site", ["none", "cross-site", "same-origin"])
def test_printed_address_sets_the_cookie_and_gives_the_key(site: str) -> None:
    """The request is cross-site, because it comes from the file that faintcall opens."""
    client = anonymous_client()
    response = client.get(f"/?token={TOKEN}", headers={"sec-fetch-site": site})
    assert response.status_code == 200
    cookie = response.headers["set-cookie"]
    assert cookie.startswith(f"faintcall-{PORT}={cookie_value(TOKEN)};")
    assert "httponly" in cookie.lower()
    assert "samesite=strict" in cookie.lower()
    key = re.search('<meta name="faintcall-key" content="([0-9a-f]{64})">', response.text)
    assert key
    assert client.get("/api/settings", headers={KEY_HEADER: key[1]}).status_code == 200
    for secret in (TOKEN, PAGE_KEY, cookie_value(TOKEN)):
        assert secret not in response.text


@pytest.mark.parametrize("key", ["", "x", TOKEN, PAGE_KEY, cookie_value(TOKEN)])
def test_the_cookie_alone_opens_no_data(client: TestClient, key: str) -> None:
    """A browser sends the cookie to every port of this computer (RFC 6265, section 8.5)."""
    headers = {KEY_HEADER: key}
    assert client.get("/practise", headers=headers).status_code == 200
    for path in ("/api/settings", "/api/history", "/api/page-key"):
        assert client.get(path, headers=headers).status_code == 403
    response = client.post("/api/settings", json={"values": {}}, headers=headers)
    assert response.status_code == 403


@pytest.mark.parametrize("path", ["/", "/history", "/nothing", "/api/settings", "/static/x"])
def test_every_address_answers_a_browser_with_a_page(client: TestClient, path: str) -> None:
    headers = {"accept": "text/html,application/xhtml+xml,*/*;q=0.8", KEY_HEADER: ""}
    for sender in (client, anonymous_client()):
        response = sender.get(path, headers=headers)
        assert response.headers["content-type"] == "text/html; charset=utf-8"
        assert "<h1" in response.text
        if sender is not client:
            assert response.status_code == 403
            assert "address that faintcall prints" in response.text


@pytest.mark.parametrize(
    "host",
    ["evil.example", f"evil.example:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", f"{HOST}.", ""],
)
def test_foreign_host_name_is_refused(client: TestClient, host: str) -> None:
    """DNS rebinding makes the browser believe that evil.example is this computer."""
    status, message = refuse_reason(client, "GET", "/api/settings", headers={"host": host})
    assert status == 403
    assert "own address" in message


def test_localhost_is_accepted_like_the_address(client: TestClient) -> None:
    response = client.get("/api/settings", headers={"host": f"localhost:{PORT}"})
    assert response.status_code == 200


@pytest.mark.parametrize(
    "origin",
    ["", "null", "http://evil.example", f"https://{HOST}", "http://127.0.0.1:8000", HOST],
)
def test_post_from_a_foreign_origin_changes_nothing(client: TestClient, origin: str) -> None:
    body = {"values": {"volume": 0.1}}
    for headers in ({"origin": origin}, {**ORIGIN, "sec-fetch-site": "same-site"}):
        status, _ = refuse_reason(client, "POST", "/api/settings", json=body, headers=headers)
        assert status == 403
    assert client.get("/api/settings").json()["values"]["volume"] == 0.5


def test_page_on_another_port_of_this_machine_can_load_nothing(client: TestClient) -> None:
    """The browser counts such a page as the same site, because a site has no port."""
    for site in ("same-site", "cross-site"):
        response = client.get("/api/settings", headers={"sec-fetch-site": site})
        assert response.status_code == 403
    for site in ("same-origin", "none"):
        response = client.get("/api/settings", headers={"sec-fetch-site": site})
        assert response.status_code == 200


@pytest.mark.parametrize(
    "content_type", ["text/plain", "application/x-www-form-urlencoded", "", "json"]
)
def test_content_types_that_a_foreign_form_can_send_are_refused(
    client: TestClient, content_type: str
) -> None:
    headers = {"content-type": content_type}
    status, message = refuse_reason(client, "POST", "/api/settings", content=b"{}", headers=headers)
    assert status == 400
    assert "JSON" in message


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "BREW"])
def test_only_get_and_post_are_allowed(client: TestClient, method: str) -> None:
    assert refuse_reason(client, method, "/api/settings")[0] == 405


def test_addresses_that_change_something_refuse_get(client: TestClient) -> None:
    for path in ("/api/sessions/x/answers", "/api/listen", "/api/budget", "/api/again"):
        assert client.get(path).status_code == 405


def test_large_body_is_refused_with_and_without_a_stated_length(client: TestClient) -> None:
    large = b'{"values": {"scheme": "' + b"x" * MAX_JSON_BYTES + b'"}}'
    for content in (large, iter([large[:40000], large[40000:]])):
        response = client.post("/api/settings", content=content, headers=JSON_TYPE)
        assert response.status_code == 413
    for length in ("-1", "1e3", "9" * 40):
        headers = {**JSON_TYPE, "content-length": length}
        assert client.post("/api/settings", content=b"{}", headers=headers).status_code == 413
    largest = b'{"values": {}}'.ljust(MAX_JSON_BYTES)
    assert client.post("/api/settings", content=largest, headers=JSON_TYPE).status_code == 200


@pytest.mark.parametrize("path", ["/api/settings", "/nothing", "/practise", "/static/x"])
def test_every_response_carries_the_security_headers(client: TestClient, path: str) -> None:
    for sender in (client, anonymous_client()):
        headers = sender.get(path).headers
        policy = headers["content-security-policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self';")
        assert "unsafe" not in policy
        assert HOST not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["cache-control"] == "no-store"
        assert headers["cross-origin-resource-policy"] == "same-origin"
        assert "microphone=(self)" in headers["permissions-policy"]
        assert "access-control-allow-origin" not in headers
        assert "server" not in headers
