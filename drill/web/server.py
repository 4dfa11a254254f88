"""Starts the web server for this machine: port, access token, browser and shutdown."""

import json
import logging
import os
import secrets
import signal
import socket
import sys
import threading
import webbrowser
from contextlib import suppress
from pathlib import Path
from queue import Full

import numpy as np
import uvicorn

from drill.core.conditions import Conditions
from drill.core.errors import ResourceUnavailable, UserError
from drill.core.models import Clip
from drill.core.paths import data_folder
from drill.core.validation import integer_within
from drill.items import prefetch
from drill.radio.channel import simulate
from drill.web.app import create_app

HOST = "127.0.0.1"
DEFAULT_PORT = 7388
MAX_STORED_TOKENS = 8


class NoFreePort(ResourceUnavailable):
    """The system gives the server no port to listen on."""


def listening_socket(port: int | None) -> socket.socket:
    """Return a socket that accepts connections from this machine only.

    port: 0 to 65535, 0 for any free port; None for DEFAULT_PORT or, if it is taken, a free one.
    Raises: UserError if the requested port is out of range or taken, NoFreePort if there is none.
    """
    if port is not None:
        integer_within("port", port, 0, 65535)
    try:
        return _listen(DEFAULT_PORT if port is None else port)
    except OSError as error:
        if port is not None:
            raise UserError(
                f"port {port} is not available ({error.strerror}); choose another, or leave the "
                "port out to get a free one",
                field="port",
            ) from None
    try:
        return _listen(0)
    except OSError as error:
        raise NoFreePort(f"no port is available on this machine: {error.strerror}") from None


def _listen(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # on Windows this option would let two programs share the port
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((HOST, port))
        listener.listen(64)
    except OSError:
        listener.close()
        raise
    return listener


def store_token(port: int, token: str) -> str | None:
    """Store this run's token for a port; return the token of the previous run on that port.

    A page that is still open after a restart trades the previous token for the new one. The file
    is readable by its owner only and holds the tokens of MAX_STORED_TOKENS ports.
    Raises: UserError if the file cannot be written.
    """
    path = data_folder() / "page-tokens.json"
    tokens = _stored_tokens(path)
    previous_token = tokens.pop(str(port), None)
    tokens = dict([*tokens.items(), (str(port), token)][-MAX_STORED_TOKENS:])
    temporary = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        temporary.unlink(missing_ok=True)
        descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "w") as file:
            json.dump(tokens, file)
        temporary.replace(path)
    except OSError as error:
        raise UserError(f"{path} cannot be written: {error.strerror}") from None
    return previous_token


def _stored_tokens(path: Path) -> dict[str, str]:
    """Return the tokens by port; a missing or damaged file counts as empty."""
    try:
        tokens = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(tokens, dict):
        return {}
    return {
        port: token for port, token in tokens.items() if isinstance(token, str) and len(token) >= 32
    }


def serve(*, port: int | None, browser: bool) -> None:
    """Serve the page until Ctrl-C.

    port: as in listening_socket. browser: whether to open the page in a browser window.
    Raises: UserError and NoFreePort as listening_socket does; KeyboardInterrupt at Ctrl-C.
    """
    with listening_socket(port) as listener:
        port_number = listener.getsockname()[1]
        token = secrets.token_urlsafe(32)
        previous_token = store_token(port_number, token)
        app = create_app(token=token, previous_token=previous_token, port=port_number)
        address = f"http://{HOST}:{port_number}/?token={token}"
        print(
            f"The page is at {address}\nPress Ctrl-C to stop. Only this machine can open it.",
            flush=True,
        )
        if browser and can_open_window():
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
        threading.Thread(target=warm_up, daemon=True).start()
        try:
            create_server(app).run(sockets=[listener])
        except KeyboardInterrupt:
            # A second Ctrl-C must not interrupt the shutdown.
            signal.signal(signal.SIGINT, signal.SIG_IGN)
            raise
        finally:
            prefetch.stop_prefetching()


def warm_up() -> None:
    """Load the speech engines and the channel, so that the first item is ready without delay."""
    with suppress(OSError, RuntimeError, Full):  # the first item then takes a little longer
        prefetch.warm_up_voices()
    noise = np.random.default_rng(0).normal(0, 0.1, 8000).astype(np.float32)
    simulate(Clip(samples=noise, rate_hz=16000), Conditions(), 0, ())


def can_open_window() -> bool:
    """Return True if a browser window can open.

    Without a display a text-mode browser would start and take over the terminal.
    """
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def create_server(app: object) -> uvicorn.Server:
    """Return a uvicorn server for an ASGI application, with limits on requests and no logs."""
    # Logs would hold what the trainee typed and which calls were played.
    logging.getLogger("uvicorn").addHandler(logging.NullHandler())
    return uvicorn.Server(
        uvicorn.Config(
            app,  # type: ignore[arg-type]
            http="h11",
            ws="none",
            lifespan="off",
            interface="asgi3",
            access_log=False,
            log_config=None,
            server_header=False,
            proxy_headers=False,
            h11_max_incomplete_event_size=16 * 1024,
            limit_concurrency=64,
            timeout_keep_alive=15,
            timeout_graceful_shutdown=1,
        )
    )
