"""The keys shared by the page and its server, and the proof of knowing a key without sending it.

Two secrets exist. The run's token is part of the printed address; the cookie and the key that each
API request carries are derived from it and end with the run. The page key stays the same on this
computer: with it, a page that was open before a restart and the new server prove themselves to each
other (challenge and response, HMAC-SHA256 by RFC 2104), and neither sends it. If another user's
program takes over the port in between, it learns nothing that the next server would accept.
"""

import hmac
import os
import secrets
import threading
from collections import OrderedDict
from contextlib import suppress
from pathlib import Path

from drill.core.errors import UserError
from drill.core.paths import data_folder

KEY_LENGTH = 43
"""Characters of a token and of the page key: 32 random bytes in Base64."""
SERVER_ROLE, PAGE_ROLE = "server", "page"
MAX_CHALLENGES = 64
"""Largest number of open challenges; the oldest is dropped first."""


def new_token() -> str:
    """Return a random token of KEY_LENGTH characters."""
    return secrets.token_urlsafe(32)


def cookie_value(token: str) -> str:
    """Return the value of the cookie of a run."""
    return _hmac(token, "cookie")


def request_key(token: str) -> str:
    """Return the key that every API request of a run carries in a header.

    A browser sends the cookie to every port of this computer, but a page only sends this key.
    """
    return _hmac(token, "requests")


def proof(key: str, role: str, port: int, page_nonce: str, server_nonce: str) -> str:
    """Return the proof of knowing the page key: 64 hexadecimal digits.

    role: SERVER_ROLE or PAGE_ROLE. port: of the server, so that no other server's proof fits.
    """
    return _hmac(key, f"{role} {port} {page_nonce} {server_nonce}")


def is_same(value: str, expected: str) -> bool:
    """Return True for equal texts, in a time that does not depend on where they differ."""
    return hmac.compare_digest(value.encode(errors="replace"), expected.encode())


def _hmac(key: str, message: str) -> str:
    return hmac.new(key.encode(), f"faintcall {message}".encode(), "sha256").hexdigest()


class Challenges:
    """The nonces that this server has issued; each is accepted once."""

    def __init__(self) -> None:
        """Start empty."""
        self._page_nonces: OrderedDict[str, str] = OrderedDict()
        self._lock = threading.Lock()

    def issue(self, page_nonce: str) -> str:
        """Return a new nonce for a page's nonce."""
        nonce = secrets.token_hex(16)
        with self._lock:
            self._page_nonces[nonce] = page_nonce
            while len(self._page_nonces) > MAX_CHALLENGES:
                self._page_nonces.popitem(last=False)
        return nonce

    def redeem(self, page_nonce: str, server_nonce: str) -> bool:
        """Return True, once, if server_nonce was issued for page_nonce."""
        with self._lock:
            return self._page_nonces.pop(server_nonce, None) == page_nonce


def load_page_key() -> str:
    """Return the page key of this user; create its file, readable by the owner only, if missing.

    Raises: UserError if the file cannot be read or written.
    """
    path = data_folder() / "page-key"
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with suppress(OSError):  # of version 0.2.0
            (path.parent / "page-tokens.json").unlink(missing_ok=True)
        for _ in range(2):
            key = _read(path)
            if key:
                return key
            _create(path, new_token())
    except OSError as error:
        raise UserError(f"{path} cannot be read or written: {error.strerror}") from None
    raise UserError(f"{path} cannot be used; delete it and start faintcall again")


def _read(path: Path) -> str:
    """Return the key in a file; delete a damaged file, or one that others can read."""
    try:
        text = path.read_text("ascii")
        is_private = os.name != "posix" or not path.stat().st_mode & 0o077
    except FileNotFoundError:
        return ""
    except UnicodeDecodeError:
        text, is_private = "", True
    if len(text) == KEY_LENGTH and is_private:
        return text
    path.unlink()
    return ""


def _create(path: Path, key: str) -> None:
    """Create the file with its whole content; another program may create it first."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}.{secrets.token_hex(4)}")
    descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(descriptor, "w") as file:
            file.write(key)
        if not path.exists():
            temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)
