"""The server: its address and port, what it prints, and what it takes from a connection."""

import json
import signal
import socket
import stat
import sys
import threading
import time
import webbrowser
from collections.abc import Iterator
from http.client import HTTPConnection
from pathlib import Path

import pytest

from drill.cli import main
from drill.core.errors import UserError
from drill.items import prefetch
from drill.web import security, server
from drill.web.app import application
from tests.web.client import TOKEN, program


@pytest.fixture
def address(home: Path) -> Iterator[tuple[str, int]]:
    """Run the real server on a free port."""
    listening = server.bound(0)
    host, port = listening.getsockname()
    running = server.server(application(token=TOKEN, last=None, port=port))
    thread = threading.Thread(target=running.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    deadline = time.monotonic() + 20
    while not running.started:
        assert time.monotonic() < deadline
        time.sleep(0.01)
    yield host, port
    running.should_exit = True
    thread.join(10)
    listening.close()


def exchange(address: tuple[str, int], sent: bytes) -> bytes:
    """Send bytes, return what comes back until the server closes."""
    with socket.create_connection(address, timeout=30) as connection:
        connection.sendall(sent)
        got = b""
        while part := connection.recv(65536):
            got += part
        return got


def test_it_listens_on_this_machine_alone() -> None:
    with server.bound(0) as listening:
        assert listening.getsockname()[0] == "127.0.0.1"


def test_a_port_that_is_taken_is_told_or_another_found() -> None:
    with server.bound(0) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(UserError, match=f"port {port} cannot be had"):
            server.bound(port)


def test_without_a_wish_a_free_port_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    with server.bound(0) as taken:
        monkeypatch.setattr(server, "PORT", taken.getsockname()[1])
        with server.bound(None) as other:
            assert other.getsockname()[1] not in (0, server.PORT)


@pytest.mark.parametrize("port", [-1, 65536, 10**12])
def test_a_port_out_of_range_is_told(port: int, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["page", "--port", str(port)]) == 2
    assert "is out of range" in capsys.readouterr().err


def test_tokens_are_kept_for_the_next_start_of_a_port_alone(home: Path) -> None:
    assert server.exchanged(7388, "a" * 43) is None
    assert server.exchanged(7389, "b" * 43) is None
    assert server.exchanged(7388, "c" * 43) == "a" * 43
    path = home / "data" / "page-tokens.json"
    if sys.platform != "win32":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    for port in range(20):
        server.exchanged(port, "d" * 43)
    assert len(json.loads(path.read_text())) == server.MOST_TOKENS


@pytest.mark.parametrize("content", ["", "{", "[]", '{"7388": 3}', '{"7388": ""}', '{"7388": "x"}'])
def test_a_file_of_tokens_that_is_damaged_gives_none(home: Path, content: str) -> None:
    (home / "data").mkdir(parents=True)
    (home / "data" / "page-tokens.json").write_text(content)
    assert server.exchanged(7388, "a" * 43) is None
    assert server.exchanged(7388, "b" * 43) == "a" * 43


def test_a_folder_that_cannot_be_written_is_told(home: Path) -> None:
    home.mkdir()
    (home / "data").write_text("a file")
    with pytest.raises(UserError, match="cannot be written"):
        server.exchanged(7388, "a" * 43)


@pytest.mark.parametrize(
    ("words", "port", "opened"),
    [
        ([], None, True),
        (["--no-browser"], None, False),
        (["--port", "8123"], 8123, True),
        (["page"], None, True),
        (["page", "--no-browser", "--port", "0"], 0, False),
        (["--port", "1", "page", "--port", "2"], 2, True),
    ],
)
def test_no_word_at_all_is_the_page(
    monkeypatch: pytest.MonkeyPatch, words: list[str], port: int | None, opened: bool
) -> None:
    asked: dict[str, object] = {}
    monkeypatch.setattr(server, "serve", lambda **given: asked.update(given))
    assert main(words) == 0
    assert asked == {"port": port, "browser": opened}


def test_the_address_is_printed_before_the_browser_opens(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    opened = threading.Event()
    asked: list[str] = []

    def opening(address: str) -> None:
        asked.append(address)
        opened.set()

    class Quick:
        def run(self, sockets: list[socket.socket]) -> None:
            assert sockets[0].getsockname()[1] == int(asked_port())
            assert opened.wait(10)

    def asked_port() -> str:
        assert opened.wait(10)
        return asked[0].split(":")[2].split("/")[0]

    monkeypatch.setattr(webbrowser, "open", opening)
    monkeypatch.setattr(server, "has_browser", lambda: True)
    monkeypatch.setattr(server, "server", lambda app: Quick())
    monkeypatch.setattr(server, "warm", lambda: None)
    monkeypatch.setattr(prefetch, "stop_prefetching", lambda: None)
    server.serve(port=0, browser=True)
    out = capsys.readouterr().out
    assert out.startswith(f"The page is at {asked[0]}\n")


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="a window can always open there")
def test_no_browser_takes_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    assert not server.has_browser()
    monkeypatch.setenv("DISPLAY", ":0")
    assert server.has_browser()


def test_a_head_that_is_too_long_is_refused(address: tuple[str, int]) -> None:
    head = b"GET / HTTP/1.1\r\nHost: x\r\nX-Long: " + b"x" * 40_000  # and it does not end
    assert exchange(address, head).startswith(b"HTTP/1.1 400")


@pytest.mark.parametrize(
    "sent", [b"\x16\x03\x01\x02\x00\x01", b"GET\r\n\r\n", b"\x00" * 50 + b"\r\n\r\n"]
)
def test_what_is_no_http_is_refused(address: tuple[str, int], sent: bytes) -> None:
    with socket.create_connection(address, timeout=30) as connection:
        connection.sendall(sent)
        connection.shutdown(socket.SHUT_WR)
        got = connection.recv(65536)
    assert got == b"" or got.startswith(b"HTTP/1.1 400")


def test_a_body_in_endless_pieces_is_cut(address: tuple[str, int]) -> None:
    name = f"127.0.0.1:{address[1]}"
    head = (
        f"POST /api/again HTTP/1.1\r\nHost: {name}\r\nOrigin: http://{name}\r\n"
        "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\nConnection: close\r\n\r\n"
    ).encode()
    piece = b"4000\r\n" + b"x" * 0x4000 + b"\r\n"
    assert exchange(address, head + 5 * piece).startswith(b"HTTP/1.1 413")


def test_a_body_that_does_not_come_is_not_waited_for(
    address: tuple[str, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(security, "BODY_WAIT_S", 0.2)
    name = f"127.0.0.1:{address[1]}"
    head = (
        f"POST /api/again HTTP/1.1\r\nHost: {name}\r\nOrigin: http://{name}\r\n"
        "Content-Type: application/json\r\nContent-Length: 20\r\nConnection: close\r\n\r\n"
    ).encode()
    assert exchange(address, head + b'{"token"').startswith(b"HTTP/1.1 400")


def test_a_socket_is_not_opened(address: tuple[str, int]) -> None:
    connection = HTTPConnection(*address, timeout=30)
    connection.request(
        "GET",
        "/",
        headers={
            "Upgrade": "websocket",
            "Connection": "Upgrade",
            "Sec-WebSocket-Key": "eHh4eHh4eHh4eHh4eHh4eA==",
            "Sec-WebSocket-Version": "13",
        },
    )
    assert connection.getresponse().status == 403
    connection.close()


def test_the_page_is_served_by_its_real_address(address: tuple[str, int]) -> None:
    connection = HTTPConnection(*address, timeout=30)
    connection.request("GET", f"/?token={TOKEN}")
    reply = connection.getresponse()
    assert reply.status == 303
    assert reply.getheader("server") is None
    cookie = (reply.getheader("set-cookie") or "").partition(";")[0]
    reply.read()
    connection.request("GET", "/api/cautions", headers={"cookie": cookie})
    assert json.loads(connection.getresponse().read()) == {"hearing": False}
    connection.close()


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGINT to send there")
def test_ctrl_c_ends_it_with_one_line(tmp_path: Path) -> None:
    """Also while an over is being spoken, and when it is pressed twice."""
    with program(tmp_path, "page", "--no-browser", "--port", "0") as (process, address):
        host, port = address.split("/")[2].split(":")
        connection = HTTPConnection(host, int(port), timeout=30)
        connection.request("GET", "/" + address.split("/")[3])
        cookie = (connection.getresponse().getheader("set-cookie") or "").partition(";")[0]
        with socket.create_connection((host, int(port)), timeout=30) as asking:
            body = b'{"conditions": "busy-weekend"}'
            head = (
                f"POST /api/listen HTTP/1.1\r\nHost: {host}:{port}\r\nCookie: {cookie}\r\n"
                f"Origin: http://{host}:{port}\r\nContent-Type: application/json\r\n"
                f"Content-Length: {len(body)}\r\n\r\n"
            )
            asking.sendall(head.encode() + body)
            time.sleep(0.3)
            for _ in range(2):
                process.send_signal(signal.SIGINT)
                time.sleep(0.1)
            assert process.wait(timeout=30) == 130
        connection.close()
        assert process.stderr is not None
        assert process.stderr.read() == "\nfaintcall: stopped; what was finished is kept\n"


def test_two_programs_at_once_do_not_disturb_each_other(tmp_path: Path) -> None:
    """The second finds a port of its own and has a cookie of its own."""
    words = ("page", "--no-browser", "--port", "0")
    with program(tmp_path, *words) as (_, one), program(tmp_path, *words) as (_, two):
        assert one.split("/")[2] != two.split("/")[2]
        assert one.partition("token=")[2] != two.partition("token=")[2]
