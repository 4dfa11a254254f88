"""Starts the web server for this computer: port, access token, browser and shutdown."""

import logging
import os
import signal
import socket
import threading
from contextlib import suppress
from queue import Full

import numpy as np
import uvicorn

from drill.core.conditions import Conditions
from drill.core.errors import ResourceUnavailable, UserError
from drill.core.models import Clip
from drill.core.validation import integer_within
from drill.items import prefetch
from drill.radio.channel import simulate
from drill.web.app import create_app
from drill.web.browser import can_open_window, delete_file, open_page
from drill.web.connections import LimitedConnection
from drill.web.page_key import load_page_key, new_token

HOST = "127.0.0.1"
DEFAULT_PORT = 7388
MAX_SOCKET_BYTES = 4096
"""Largest message that a page may send over a WebSocket; a longer one closes the connection."""


class NoFreePort(ResourceUnavailable):
    """No port is available for the server."""


def listening_socket(port: int | None) -> socket.socket:
    """Return a socket that accepts connections from this computer only.

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
        raise NoFreePort(f"no port is available on this computer: {error.strerror}") from None


def _listen(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # on Windows, this option would let two programs share the port
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((HOST, port))
        listener.listen(64)
    except OSError:
        listener.close()
        raise
    return listener


def serve(*, port: int | None, browser: bool) -> None:
    """Serve the page until Ctrl-C.

    port: as in listening_socket. browser: whether to open the page in a browser window.
    Raises: UserError and NoFreePort as listening_socket does; KeyboardInterrupt at Ctrl-C.
    """
    with listening_socket(port) as listener:
        port_number = listener.getsockname()[1]
        token = new_token()
        app = create_app(token=token, page_key=load_page_key(), port=port_number)
        address = f"http://{HOST}:{port_number}/?token={token}"
        print(
            f"The page is at {address}\nPress Ctrl-C to stop. Only this computer can open it.",
            flush=True,
        )
        file = open_page(address) if browser and can_open_window() else None
        threading.Thread(target=warm_up, daemon=True).start()
        try:
            create_server(app).run(sockets=[listener])
        except KeyboardInterrupt:
            # A second Ctrl-C must not interrupt the shutdown.
            signal.signal(signal.SIGINT, signal.SIG_IGN)
            raise
        finally:
            delete_file(file)
            prefetch.stop_prefetching()


def warm_up() -> None:
    """Load the speech engines and the channel, so that the first item is ready without delay."""
    with suppress(OSError, RuntimeError, Full):  # the first item then only takes a little longer
        prefetch.warm_up_voices()
    noise = np.random.default_rng(0).normal(0, 0.1, 8000).astype(np.float32)
    simulate(Clip(samples=noise, rate_hz=16000), Conditions(), 0, ())


def create_server(app: object) -> uvicorn.Server:
    """Return a uvicorn server for an ASGI application, with limits on requests and no logs."""
    # Logs would contain the trainee's answers and the calls played.
    logging.getLogger("uvicorn").addHandler(logging.NullHandler())
    return uvicorn.Server(
        uvicorn.Config(
            app,  # type: ignore[arg-type]
            http=LimitedConnection,
            ws="websockets-sansio",
            ws_max_size=MAX_SOCKET_BYTES,
            ws_per_message_deflate=False,  # compression does not shorten noise
            lifespan="off",
            interface="asgi3",
            access_log=False,
            log_config=None,
            server_header=False,
            proxy_headers=False,
            h11_max_incomplete_event_size=16 * 1024,
            timeout_keep_alive=15,
            timeout_graceful_shutdown=1,
        )
    )
