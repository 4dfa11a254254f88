"""/api/again: page and server prove themselves to each other, and neither shows the key."""

import hashlib
import hmac
from typing import Any

import pytest
from starlette.testclient import TestClient

from drill.web.page_key import (
    MAX_CHALLENGES,
    PAGE_ROLE,
    SERVER_ROLE,
    cookie_value,
    proof,
    request_key,
)
from tests.web.client import ORIGIN, PAGE_KEY, PORT, TOKEN, anonymous_client

NONCE = "n" * 32
pytestmark = pytest.mark.usefixtures("home")


def page_before_restart() -> TestClient:
    """Return a client without a valid cookie that sends requests as the page does."""
    client = anonymous_client()
    client.headers.update(ORIGIN)
    return client


def challenge(client: TestClient, nonce: str = NONCE) -> dict[str, str]:
    response = client.post("/api/again", json={"nonce": nonce})
    assert response.status_code == 200
    assert "set-cookie" not in response.headers
    result: dict[str, str] = response.json()
    return result


def answer(client: TestClient, server_nonce: str, own: str, nonce: str = NONCE) -> Any:
    body = {"nonce": nonce, "server_nonce": server_nonce, "proof": own}
    return client.post("/api/again", json=body)


def test_the_server_proves_itself_by_rfc_2104() -> None:
    """Outside check: the HMAC is computed here from its definition (RFC 2104, section 2)."""
    given = challenge(page_before_restart())
    message = f"faintcall server {PORT} {NONCE} {given['nonce']}".encode()
    block = PAGE_KEY.encode().ljust(64, b"\0")
    inner = hashlib.sha256(bytes(byte ^ 0x36 for byte in block) + message).digest()
    outer = hashlib.sha256(bytes(byte ^ 0x5C for byte in block) + inner).hexdigest()
    assert given["proof"] == outer
    assert outer == hmac.new(PAGE_KEY.encode(), message, "sha256").hexdigest()


def test_a_page_that_knows_the_key_gets_cookie_and_request_key() -> None:
    client = page_before_restart()
    assert client.get("/api/settings").status_code == 403
    server_nonce = challenge(client)["nonce"]
    response = answer(client, server_nonce, proof(PAGE_KEY, PAGE_ROLE, PORT, NONCE, server_nonce))
    assert response.json() == {"key": request_key(TOKEN)}
    assert f"faintcall-{PORT}={cookie_value(TOKEN)};" in response.headers["set-cookie"]
    headers = {"x-faintcall-key": response.json()["key"]}
    assert client.get("/api/settings", headers=headers).status_code == 200


@pytest.mark.parametrize(
    ("key", "role", "port"),
    [
        ("x" * 43, PAGE_ROLE, PORT),
        (TOKEN, PAGE_ROLE, PORT),
        (PAGE_KEY, SERVER_ROLE, PORT),  # the server's own proof, sent back to it
        (PAGE_KEY, PAGE_ROLE, PORT + 1),  # relayed to or from another port
    ],
)
def test_any_other_proof_is_refused(key: str, role: str, port: int) -> None:
    client = page_before_restart()
    server_nonce = challenge(client)["nonce"]
    response = answer(client, server_nonce, proof(key, role, port, NONCE, server_nonce))
    assert response.status_code == 403
    assert "set-cookie" not in response.headers


def test_a_proof_is_accepted_once_and_for_its_own_challenge_only() -> None:
    client = page_before_restart()
    server_nonce = challenge(client)["nonce"]
    own = proof(PAGE_KEY, PAGE_ROLE, PORT, NONCE, server_nonce)
    assert answer(client, server_nonce, own).status_code == 200
    assert answer(client, server_nonce, own).status_code == 403
    invented = "0" * 32
    own = proof(PAGE_KEY, PAGE_ROLE, PORT, NONCE, invented)
    assert answer(client, invented, own).status_code == 403


def test_old_challenges_expire() -> None:
    client = page_before_restart()
    first = challenge(client)["nonce"]
    for number in range(MAX_CHALLENGES):
        challenge(client, f"other {number}")
    own = proof(PAGE_KEY, PAGE_ROLE, PORT, NONCE, first)
    assert answer(client, first, own).status_code == 403


def test_other_websites_get_no_challenge() -> None:
    client = anonymous_client()
    for headers in ({}, {"origin": "http://evil.example"}):
        response = client.post("/api/again", json={"nonce": NONCE}, headers=headers)
        assert response.status_code == 403


@pytest.mark.parametrize("body", [{}, {"nonce": 5}, {"nonce": "x" * 65}, {"nonce": "x", "y": 1}])
def test_a_malformed_challenge_is_refused(body: dict[str, Any]) -> None:
    assert page_before_restart().post("/api/again", json=body).status_code == 400


def test_the_page_key_is_given_to_the_logged_in_page_only(client: TestClient) -> None:
    assert client.get("/api/page-key").json() == {"key": PAGE_KEY}
    assert anonymous_client().get("/api/page-key").status_code == 403
    cookie_only = {"x-faintcall-key": ""}
    assert client.get("/api/page-key", headers=cookie_only).status_code == 403
