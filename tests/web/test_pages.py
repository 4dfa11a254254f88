"""Pages, the manual under /help, and static files."""

import re

import pytest
from starlette.testclient import TestClient

from drill.core.paths import record_file
from drill.manual import TOPICS, manual_page
from drill.session.kinds.comparison import Comparison
from drill.web.page_key import request_key
from drill.web.pages import PAGES
from tests.web.client import PAGE_KEY, TOKEN, begin_session


def test_every_page_is_served_without_any_key(client: TestClient) -> None:
    """The cookie, which another program can receive, opens a page but gives no key."""
    for path in PAGES:
        response = client.get(path)
        assert response.status_code == 200, path
        for secret in (TOKEN, PAGE_KEY, request_key(TOKEN)):
            assert secret not in response.text
        assert "set-cookie" not in response.headers


def test_the_compare_page_suggests_the_default_number_of_items(client: TestClient) -> None:
    (field,) = re.findall(r'<input type="number" id="count"[^>]*>', client.get("/compare").text)
    assert f'value="{Comparison.default_count}"' in field


def test_every_topic_of_the_manual_is_listed_and_served(client: TestClient) -> None:
    contents = client.get("/help").text
    for topic in TOPICS:
        assert f'href="/help/{topic}"' in contents
        page = client.get(f"/help/{topic}")
        assert page.status_code == 200
        assert f"<h1>{manual_page(topic).title}</h1>" in page.text


@pytest.mark.parametrize("topic", ["nothing", "copy.md", "..%2fcopy"])
def test_unknown_topic_gives_a_page_that_says_so(client: TestClient, topic: str) -> None:
    response = client.get(f"/help/{topic}")
    assert response.status_code == 404


def test_pages_work_without_a_readable_record(client: TestClient) -> None:
    record_file().parent.mkdir(parents=True, exist_ok=True)
    record_file().write_bytes(b"not a record, and longer than a database header" * 30)
    response = client.get("/settings")
    assert response.status_code == 200
    assert 'data-scheme="system"' in response.text


@pytest.mark.parametrize(
    "name",
    [
        "../app.py",
        "..%2fapp.py",
        "%2e%2e/app.py",
        "%2e%2e%2fsecurity.py",
        "..%5csecurity.py",
        "....//security.py",
        "%00",
        "base.css%00.js",
        "/etc/passwd",
        "%2fetc%2fpasswd",
        "",
        "x" * 5000,
    ],
)
def test_no_path_of_a_request_reaches_files_outside(client: TestClient, name: str) -> None:
    paths = (f"/static/{name}", f"/api/sounds/{name}.wav", f"/api/sessions/{name}", f"/{name}")
    for path in paths:
        response = client.get(path, follow_redirects=False)
        if path == "/":
            continue
        assert response.status_code in (404, 405), path
        assert "root:" not in response.text
        assert "import" not in response.text


def test_identities_of_sessions_cannot_be_guessed(client: TestClient) -> None:
    identities = {begin_session(client)["id"] for _ in range(3)}
    assert len(identities) == 3
    assert all(len(bytes.fromhex(identity)) == 16 for identity in identities)
