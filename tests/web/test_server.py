"""The server process: port, token, browser, shutdown, and limits on connections."""

import json
import signal
import socket
import sys
import threading
import time
import webbrowser
from collections.abc import Iterator
from contextlib import closing, suppress
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit
from urllib.request import url2pathname

import pytest
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import connect
from websockets.typing import Origin, Subprotocol

from drill.cli import main
from drill.core.errors import UserError
from drill.items import prefetch
from drill.web import connections, hunt_feeds, security, server
from drill.web.app import create_app
from drill.web.hunt_feed import Finish, Send
from drill.web.page_key import cookie_value, request_key
from drill.web.security import KEY_HEADER
from drill.web.socket_guard import KEY_PROTOCOL_PREFIX, SOCKET_PROTOCOL
from tests.web.client import EXIT_TIMEOUT_S, PAGE_KEY, TOKEN, running_program

Address = tuple[str, int]


@pytest.fixture
def address(home: Path) -> Iterator[Address]:
    """Run the real server on a free port; return host and port."""
    listener = server.listening_socket(0)
    host, port = listener.getsockname()
    running = server.create_server(create_app(token=TOKEN, page_key=PAGE_KEY, port=port))
    thread = threading.Thread(target=running.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    while not running.started:
        assert thread.is_alive()
        time.sleep(0.01)
    yield host, port
    # Without a limit, so that even a slow machine closes every connection before the loop ends.
    running.config.timeout_graceful_shutdown = None
    running.should_exit = True
    thread.join()
    listener.close()


def send_and_receive(address: Address, data: bytes) -> bytes:
    """Send bytes; return what the server sends until it closes the connection."""
    with socket.create_connection(address, timeout=60) as connection:
        connection.sendall(data)
        received = b""
        while part := connection.recv(65536):
            received += part
        return received


def post_head(address: Address, path: str, *headers: str) -> bytes:
    """Return the head of a POST that the guard accepts without a cookie for /api/again."""
    name = f"{address[0]}:{address[1]}"
    lines = (
        f"POST {path} HTTP/1.1",
        f"Host: {name}",
        f"Origin: http://{name}",
        "Content-Type: application/json",
        *headers,
    )
    return "".join(f"{line}\r\n" for line in (*lines, "")).encode()


def test_server_listens_on_this_machine_only() -> None:
    with server.listening_socket(0) as listener:
        assert listener.getsockname()[0] == "127.0.0.1"


def test_requested_port_that_is_taken_is_an_error() -> None:
    with server.listening_socket(0) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(UserError, match=f"port {port} is not available") as caught:
            server.listening_socket(port)
    assert caught.value.field == "port"


def test_default_port_that_is_taken_is_replaced_by_a_free_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with server.listening_socket(0) as taken:
        monkeypatch.setattr(server, "DEFAULT_PORT", taken.getsockname()[1])
        with server.listening_socket(None) as other:
            assert other.getsockname()[1] not in (0, server.DEFAULT_PORT)


@pytest.mark.parametrize("port", [-1, 65536, 10**12])
def test_port_out_of_range_is_an_error(port: int, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["page", "--port", str(port)]) == 2
    assert "is out of range" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "port", "browser"),
    [
        ([], None, True),
        (["--no-browser"], None, False),
        (["--port", "8123"], 8123, True),
        (["page"], None, True),
        (["page", "--no-browser", "--port", "0"], 0, False),
        (["--port", "1", "page", "--port", "2"], 2, True),
    ],
)
def test_faintcall_without_a_command_serves_the_page(
    monkeypatch: pytest.MonkeyPatch, arguments: list[str], port: int | None, browser: bool
) -> None:
    calls: list[dict[str, object]] = []
    monkeypatch.setattr(server, "serve", lambda **arguments: calls.append(arguments))
    assert main(arguments) == 0
    assert calls == [{"port": port, "browser": browser}]


def test_browser_opens_the_printed_address(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    browser_opened = threading.Event()
    arguments: list[str] = []
    contents: list[str] = []

    def open_browser(argument: str) -> None:
        arguments.append(argument)
        contents.append(Path(url2pathname(urlsplit(argument).path)).read_text("utf-8"))
        browser_opened.set()

    class ServerStub:
        def run(self, sockets: list[socket.socket]) -> None:
            assert browser_opened.wait()
            assert f":{sockets[0].getsockname()[1]}/" in contents[0]

    monkeypatch.setattr(webbrowser, "open", open_browser)
    monkeypatch.setattr(server, "can_open_window", lambda: True)
    monkeypatch.setattr(server, "create_server", lambda app: ServerStub())
    monkeypatch.setattr(server, "warm_up", lambda: None)
    monkeypatch.setattr(prefetch, "stop_prefetching", lambda: None)
    server.serve(port=0, browser=True)
    printed = capsys.readouterr().out.splitlines()[0]
    address = printed.removeprefix("The page is at ")
    assert f'url={address}"' in contents[0]
    assert "token" not in arguments[0]
    assert [path.name for path in (home / "data").iterdir()] == ["page-key"]


def test_long_header_is_refused(address: Address) -> None:
    head = b"GET / HTTP/1.1\r\nHost: x\r\nX-Long: " + b"x" * 40_000  # and the header does not end
    assert send_and_receive(address, head).startswith(b"HTTP/1.1 400")


@pytest.mark.parametrize(
    "data", [b"\x16\x03\x01\x02\x00\x01", b"GET\r\n\r\n", b"\x00" * 50 + b"\r\n\r\n"]
)
def test_data_that_is_not_http_is_refused(address: Address, data: bytes) -> None:
    with socket.create_connection(address, timeout=60) as connection:
        connection.sendall(data)
        connection.shutdown(socket.SHUT_WR)
        received = connection.recv(65536)
    assert received == b"" or received.startswith(b"HTTP/1.1 400")


def test_endless_body_is_refused(address: Address) -> None:
    headers = ("Transfer-Encoding: chunked", "Connection: close")
    chunk = b"4000\r\n" + b"x" * 0x4000 + b"\r\n"
    data = post_head(address, "/api/again", *headers) + 5 * chunk
    assert send_and_receive(address, data).startswith(b"HTTP/1.1 413")


def test_body_that_does_not_arrive_is_refused(
    address: Address, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(security, "BODY_TIMEOUT_S", 0.2)
    headers = ("Content-Length: 20", "Connection: close")
    data = post_head(address, "/api/again", *headers) + b'{"nonce"'
    assert send_and_receive(address, data).startswith(b"HTTP/1.1 400")


def get_status(address: Address) -> int:
    with closing(HTTPConnection(*address, timeout=60)) as connection:
        connection.request("GET", "/")
        return connection.getresponse().status


def test_idle_connections_do_not_block_others(address: Address) -> None:
    """Four times as many connections as the server keeps open; some have begun a request."""
    idle = [
        socket.create_connection(address, timeout=60)
        for _ in range(4 * connections.MAX_CONNECTIONS)
    ]
    for connection in idle[::2]:
        with suppress(OSError):
            connection.sendall(b"GET / HTTP/1.1\r\nHost: ")
    for _ in range(3):
        assert get_status(address) == 403
    closed = 0
    for connection in idle:
        connection.settimeout(0.01)
        try:
            closed += connection.recv(1) == b""
        except ConnectionResetError:
            closed += 1
        except TimeoutError:
            pass
        connection.close()
    assert closed >= 3 * connections.MAX_CONNECTIONS


@pytest.mark.parametrize("data", [b"", b"GET / HTTP/1.1\r\nHost: "])
def test_a_connection_without_a_request_is_closed(
    data: bytes, address: Address, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "REQUEST_TIMEOUT_S", 0.2)
    with socket.create_connection(address, timeout=60) as connection:
        connection.sendall(data)
        assert connection.recv(1) == b""


def test_a_connection_is_kept_for_the_next_request(
    address: Address, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "REQUEST_TIMEOUT_S", 0.5)
    with closing(HTTPConnection(*address, timeout=60)) as connection:
        for pause_s in (0.8, 0.0):
            connection.request("GET", "/")
            assert connection.getresponse().read()
            time.sleep(pause_s)


def test_websocket_is_refused(address: Address) -> None:
    headers = {
        "Upgrade": "websocket",
        "Connection": "Upgrade",
        "Sec-WebSocket-Key": "eHh4eHh4eHh4eHh4eHh4eA==",
        "Sec-WebSocket-Version": "13",
    }
    with closing(HTTPConnection(*address, timeout=60)) as connection:
        connection.request("GET", "/", headers=headers)
        assert connection.getresponse().status == 403


def test_printed_address_logs_in_over_a_real_connection(address: Address) -> None:
    with closing(HTTPConnection(*address, timeout=60)) as connection:
        cookie = log_in(connection, f"/?token={TOKEN}")
        headers = {"cookie": cookie, KEY_HEADER: request_key(TOKEN)}
        connection.request("GET", "/api/cautions", headers=headers)
        assert json.loads(connection.getresponse().read()) == {"hearing": False}


def log_in(connection: HTTPConnection, path: str) -> str:
    """Open the printed address; return the cookie."""
    connection.request("GET", path)
    response = connection.getresponse()
    assert response.status == 200
    assert response.getheader("server") is None
    response.read()
    return (response.getheader("set-cookie") or "").partition(";")[0]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGINT to send")
def test_ctrl_c_ends_the_program_with_one_line(tmp_path: Path) -> None:
    """Ctrl-C is pressed twice, while an over is being rendered."""
    with running_program(tmp_path, "page", "--no-browser", "--port", "0") as (process, url):
        host, port = url.split("/")[2].split(":")
        with closing(HTTPConnection(host, int(port), timeout=60)) as login:
            cookie = log_in(login, "/" + url.split("/")[3])
        with socket.create_connection((host, int(port)), timeout=60) as connection:
            body = b'{"conditions": "busy-weekend"}'
            length = f"Content-Length: {len(body)}"
            key = f"{KEY_HEADER}: {request_key(url.partition('token=')[2])}"
            head = post_head((host, int(port)), "/api/listen", f"Cookie: {cookie}", key, length)
            connection.sendall(head + body)
            time.sleep(0.3)
            for _ in range(2):
                process.send_signal(signal.SIGINT)
                time.sleep(0.1)
            assert process.wait(timeout=EXIT_TIMEOUT_S) == 130
        assert process.stderr is not None
        assert process.stderr.read() == "\nfaintcall: stopped; everything you finished is saved\n"


@pytest.mark.slow
def test_two_programs_use_different_ports_and_tokens(tmp_path: Path) -> None:
    arguments = ("page", "--no-browser", "--port", "0")
    with (
        running_program(tmp_path, *arguments) as (_, first),
        running_program(tmp_path, *arguments) as (_, second),
    ):
        assert first.split("/")[2] != second.split("/")[2]
        assert first.partition("token=")[2] != second.partition("token=")[2]


def test_a_websocket_may_be_idle(address: Address, monkeypatch: pytest.MonkeyPatch) -> None:
    """The time limit for a connection's first request does not apply to a WebSocket."""
    monkeypatch.setattr(connections, "REQUEST_TIMEOUT_S", 0.2)
    monkeypatch.setattr(hunt_feeds, "HuntFeed", SilentFeed)
    name = f"{address[0]}:{address[1]}"
    key = KEY_PROTOCOL_PREFIX + request_key(TOKEN)
    with connect(
        f"ws://{name}/api/hunts/0/sound",
        origin=Origin(f"http://{name}"),
        subprotocols=[Subprotocol(SOCKET_PROTOCOL), Subprotocol(key)],
        additional_headers={"Cookie": f"faintcall-{address[1]}={cookie_value(TOKEN)}"},
        compression=None,
    ) as page:
        time.sleep(0.6)
        page.send("hello")
        assert page.recv(timeout=60) == "hello"
        page.send("x" * (server.MAX_SOCKET_BYTES + 1))
        with pytest.raises(ConnectionClosed):
            page.recv(timeout=60)


class SilentFeed:
    """A feed that only sends back what it receives."""

    def __init__(self, identity: str, memories: object, *, send: Send, finish: Finish) -> None:
        self.receive = send

    def start(self) -> None:
        """Do nothing."""

    def close(self) -> None:
        """Do nothing."""
