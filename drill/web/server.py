"""Start the page: a server for this machine alone, its address printed, the browser opened."""

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
from drill.items import prefetch
from drill.radio.channel import simulate
from drill.web.app import application

HOST = "127.0.0.1"
PORT = 7388
MOST_TOKENS = 8


class NoPort(ResourceUnavailable):
    """No port could be had."""


def bound(port: int | None) -> socket.socket:
    """Return a socket that listens on this machine alone; port None: PORT, or a free one.

    Raises: UserError where the port asked for cannot be had, NoPort where none can.
    """
    if port is not None and not 0 <= port <= 65535:
        raise UserError(f"port {port} is out of range; allowed are 0 (a free one) to 65535")
    try:
        return _listening(PORT if port is None else port)
    except OSError as error:
        if port is not None:
            raise UserError(
                f"port {port} cannot be had ({error.strerror}); leave out --port for a free one"
            ) from None
    try:
        return _listening(0)
    except OSError as error:
        raise NoPort(f"no port can be had on this machine: {error.strerror}") from None


def _listening(port: int) -> socket.socket:
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # on Windows it would let two programs share the port
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((HOST, port))
        made.listen(64)
    except OSError:
        made.close()
        raise
    return made


def exchanged(port: int, token: str) -> str | None:
    """Keep the token of this start for the next one; return that of the last start at this port.

    The file is the user's alone. Raises: UserError where it cannot be written.
    """
    path = data_folder() / "page-tokens.json"
    kept = _tokens(path)
    last = kept.pop(str(port), None)
    kept = dict([*kept.items(), (str(port), token)][-MOST_TOKENS:])
    part = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as out:
            json.dump(kept, out)
        part.replace(path)
    except OSError as error:
        raise UserError(f"{path} cannot be written: {error.strerror}") from None
    return last


def _tokens(path: Path) -> dict[str, str]:
    try:
        found = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {k: v for k, v in found.items() if isinstance(v, str) and len(v) >= 32}


def serve(*, port: int | None, browser: bool) -> None:
    """Serve the page until Ctrl-C. Raises: UserError, NoPort; KeyboardInterrupt at its end."""
    with bound(port) as listening:
        number = listening.getsockname()[1]
        token = secrets.token_urlsafe(32)
        app = application(token=token, last=exchanged(number, token), port=number)
        address = f"http://{HOST}:{number}/?token={token}"
        print(
            f"The page is at {address}\nCtrl-C stops it. Only this machine can reach it.",
            flush=True,
        )
        if browser and has_browser():
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
        threading.Thread(target=warm, daemon=True).start()
        try:
            server(app).run(sockets=[listening])
        except KeyboardInterrupt:
            signal.signal(signal.SIGINT, signal.SIG_IGN)  # it ends already: once is enough
            raise
        finally:
            prefetch.stop()


def warm() -> None:
    """Have voices and radio path ready before the first item is asked for."""
    with suppress(OSError, RuntimeError, Full):
        prefetch.warm()
    noise = np.random.default_rng(0).normal(0, 0.1, 8000).astype(np.float32)
    simulate(Clip(samples=noise, rate_hz=16000), Conditions(), 0, ())


def has_browser() -> bool:
    """Return True where a window can open; a browser of the terminal would take the terminal."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def server(app: object) -> uvicorn.Server:
    """Return the server of an app, with limits on everything that a request can take."""
    # What is typed, and which calls, stands in no log.
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
