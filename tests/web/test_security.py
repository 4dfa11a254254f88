"""Who may ask: this user's own page on this machine, and nobody else."""

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from drill.web.pages import PAGES
from drill.web.security import MOST_BYTES
from tests.web.client import HOST, ORIGIN, PORT, TOKEN, begin, stranger, unspoken, visitor

EVERY = ("/", "/practise", "/api/choices", "/api/sittings", "/api/settings", "/static/page.css")


@pytest.fixture(autouse=True)
def own_home(home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    unspoken(monkeypatch)
    return home


def only_line(client: TestClient, method: str, path: str, **more: object) -> tuple[int, str]:
    answer = client.request(method, path, follow_redirects=False, **more)  # type: ignore[arg-type]
    told = answer.json()["error"] if "json" in answer.headers["content-type"] else answer.text
    assert "\n" not in told
    return answer.status_code, told


@pytest.mark.parametrize("path", EVERY)
def test_nobody_comes_in_without_the_cookie(path: str) -> None:
    status, told = only_line(stranger(), "GET", path)
    assert status == 403
    assert "address that faintcall prints" in told


@pytest.mark.parametrize("token", ["", "x", TOKEN[:-1], TOKEN + "t", "ü", "%00", "\u2028"])
def test_a_wrong_token_opens_nothing(token: str) -> None:
    answer = stranger().get("/", params={"token": token}, follow_redirects=False)
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers


def test_the_address_opens_the_door_and_leaves_no_token_behind() -> None:
    client = stranger()
    answer = client.get(f"/?token={TOKEN}", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith(f"faintcall-{PORT}={TOKEN};")
    assert "httponly" in cookie.lower()
    assert "samesite=strict" in cookie.lower()
    assert client.get("/api/settings").status_code == 200


@pytest.mark.parametrize(
    "host",
    ["evil.example", f"evil.example:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", f"{HOST}.", ""],
)
def test_a_foreign_name_that_leads_here_is_refused(host: str) -> None:
    """DNS rebinding: the browser believes that evil.example is this machine."""
    client = visitor()
    status, told = only_line(client, "GET", "/api/settings", headers={"host": host})
    assert status == 403
    assert "own address" in told


@pytest.mark.parametrize(
    "origin",
    ["", "null", "http://evil.example", f"https://{HOST}", "http://127.0.0.1:8000", HOST],
)
def test_what_changes_something_comes_from_the_page_itself(origin: str) -> None:
    client = visitor()
    body = {"values": {"volume": 0.1}}
    for headers in ({"origin": origin}, {**ORIGIN, "sec-fetch-site": "same-site"}):
        status, _ = only_line(client, "POST", "/api/settings", json=body, headers=headers)
        assert status == 403
    assert client.get("/api/settings").json()["values"]["volume"] == 0.5


def test_another_server_of_this_machine_can_load_nothing() -> None:
    """To the browser it is the same site: a site has no port."""
    client = visitor()
    for site in ("same-site", "cross-site"):
        answer = client.get("/api/settings", headers={"sec-fetch-site": site})
        assert answer.status_code == 403
    for site in ("same-origin", "none"):
        assert client.get("/api/settings", headers={"sec-fetch-site": site}).status_code == 200


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "", "json"])
def test_a_form_of_another_page_is_no_json(kind: str) -> None:
    """A cross-site form can send these kinds without asking first."""
    status, told = only_line(
        visitor(), "POST", "/api/settings", content=b"{}", headers={"content-type": kind}
    )
    assert status == 400
    assert "JSON" in told


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "BREW"])
def test_there_is_nothing_but_get_and_post(method: str) -> None:
    assert only_line(visitor(), method, "/api/settings")[0] == 405


def test_nothing_changes_by_get() -> None:
    client = visitor()
    for path in ("/api/sittings/x/answers", "/api/listen", "/api/budget", "/api/again"):
        assert client.get(path).status_code == 405


def test_too_much_is_refused_with_or_without_a_stated_length() -> None:
    client = visitor()
    much = b'{"values": {"scheme": "' + b"x" * MOST_BYTES + b'"}}'
    json = {"content-type": "application/json"}
    for content in (much, iter([much[:40000], much[40000:]])):
        answer = client.post("/api/settings", content=content, headers=json)
        assert answer.status_code == 413
    for length in ("-1", "1e3", "9" * 40):
        wrong = {**json, "content-length": length}
        assert client.post("/api/settings", content=b"{}", headers=wrong).status_code == 413
    full = b'{"values": {}}'.ljust(MOST_BYTES)
    assert client.post("/api/settings", content=full, headers=json).status_code == 200


@pytest.mark.parametrize("path", ["/api/settings", "/nothing", "/practise", "/static/x"])
def test_every_answer_carries_the_policy(path: str) -> None:
    for client in (visitor(), stranger()):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self';")
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["cache-control"] == "no-store"
        assert headers["cross-origin-resource-policy"] == "same-origin"
        assert "access-control-allow-origin" not in headers
        assert "server" not in headers


@pytest.mark.parametrize(
    "name",
    [
        "../app.py",
        "..%2fapp.py",
        "%2e%2e/app.py",
        "%2e%2e%2fguard.py",
        "..%5cguard.py",
        "....//guard.py",
        "%00",
        "page.css%00.js",
        "/etc/passwd",
        "%2fetc%2fpasswd",
        "",
        "x" * 5000,
    ],
)
def test_no_path_of_a_request_reaches_the_disk(name: str) -> None:
    client = visitor()
    for path in (f"/static/{name}", f"/api/sounds/{name}.wav", f"/api/sittings/{name}", f"/{name}"):
        answer = client.get(path, follow_redirects=False)
        if path == "/":
            continue
        assert answer.status_code in (404, 405), path
        assert "root:" not in answer.text
        assert "import" not in answer.text


def test_a_page_of_the_last_start_goes_on() -> None:
    old = "o" * 43
    client = stranger(last=old)
    client.headers.update(ORIGIN)
    for wrong in ("", "x", old[:-1], TOKEN[:-1]):
        answer = client.post("/api/again", json={"token": wrong})
        assert answer.status_code == 403
        assert "set-cookie" not in answer.headers
    assert client.get("/api/settings").status_code == 403
    answer = client.post("/api/again", json={"token": old})
    assert answer.json() == {"token": TOKEN}
    assert client.get("/api/settings").status_code == 200


def test_a_first_start_takes_no_old_token() -> None:
    client = stranger(last=None)
    client.headers.update(ORIGIN)
    for token in ("", "None", "null"):
        assert client.post("/api/again", json={"token": token}).status_code == 403
    assert client.post("/api/again", json={}).status_code == 403


def test_another_page_cannot_trade_a_token() -> None:
    client = stranger(last="o" * 43)
    for headers in ({}, {"origin": "http://evil.example"}):
        answer = client.post("/api/again", json={"token": "o" * 43}, headers=headers)
        assert answer.status_code == 403


def test_every_page_is_in_the_table() -> None:
    client = visitor()
    for path in PAGES:
        assert client.get(path).status_code == 200, path
        assert TOKEN not in client.get(path).headers.get("set-cookie", "")


def test_identities_cannot_be_guessed() -> None:
    client = visitor()
    found = {begin(client)["id"] for _ in range(3)}
    assert len(found) == 3
    assert all(re.fullmatch("[0-9a-f]{32}", identity) for identity in found)
