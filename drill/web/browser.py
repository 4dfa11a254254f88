"""Opens the page in the user's browser without showing the token in a command line.

Every user of the computer can read command lines. The browser is therefore given a private file
that redirects to the address; the file is deleted soon after.
"""

import html
import os
import sys
import tempfile
import threading
import webbrowser
from contextlib import suppress
from pathlib import Path

from drill.core.paths import data_folder

FILE_LIFETIME_S = 60.0
_REDIRECT = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="referrer" content="no-referrer">
<meta http-equiv="refresh" content="0;url={address}">
<title>faintcall</title>
</head>
<body><p>Opening <a href="{address}">faintcall</a> ...</p></body>
</html>
"""


def can_open_window() -> bool:
    """Return True if a browser window can open.

    Without a display a text-mode browser would start and take over the terminal.
    """
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def open_page(address: str) -> Path | None:
    """Open an address in the browser; return the file that leads there, to be deleted at the end.

    None if no file can be written; the user then opens the printed address.
    """
    try:
        file = redirect_file(address)
    except OSError:
        return None
    threading.Thread(target=webbrowser.open, args=(file.as_uri(),), daemon=True).start()
    timer = threading.Timer(FILE_LIFETIME_S, delete_file, (file,))
    timer.daemon = True
    timer.start()
    return file


def redirect_file(address: str) -> Path:
    """Write a private HTML file that leads to an address; return its path. Raises: OSError."""
    descriptor, name = tempfile.mkstemp(".html", "faintcall-page-", _folder())  # mode 0600
    with os.fdopen(descriptor, "w", encoding="utf-8") as file:
        file.write(_REDIRECT.format(address=html.escape(address)))
    return Path(name)


def delete_file(file: Path | None) -> None:
    """Delete the file if there is one."""
    if file is not None:
        with suppress(OSError):
            file.unlink(missing_ok=True)


def _folder() -> Path:
    """Return a folder for the file that the browser may read.

    A browser installed as a snap can read neither hidden folders nor those for temporary files.
    """
    home = Path.home()
    if Path("/snap/bin").is_dir() and os.access(home, os.W_OK):
        return home
    folder = data_folder()
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder
