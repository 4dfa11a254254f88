"""Offers to install an extra that a command needs, with a progress bar in the terminal."""

import sys

from tqdm import tqdm

from drill.cli.wrapping import print_text
from drill.core.errors import ResourceUnavailable
from drill.core.extras import extra_is_installed, find_extra, install_extra, install_target


def offer_extra(name: str) -> None:
    """Ask whether to install an extra if it is missing, and install it.

    Nothing happens if nobody can be asked or if nothing can be installed here: the command then
    ends with the message that its package is missing, which gives the command for pip.

    Raises: UserError for an unknown extra; ResourceUnavailable if the installation fails.
    """
    target, extra = install_target(), find_extra(name)
    if target.refusal or not sys.stdin.isatty() or not _is_missing(name):
        return
    shared = "" if target.own else ", an environment that other programs may use"
    print_text(
        f"This needs the extra {name} ({extra.download_mb:.0f} MB of download, "
        f"{extra.disk_mb:.0f} MB on disk). It would be installed into {target.folder}{shared}."
    )
    if input("Install it now? [y/N] ").strip().lower() not in ("y", "yes"):
        return
    with tqdm(total=extra.download_mb, unit="MB", disable=None, file=sys.stderr) as bar:
        for progress in install_extra(name):
            bar.set_description("installing" if progress.installing else "downloading")
            bar.update(progress.done_mb - bar.n)
    print_text(f"The extra {name} is installed.")


def _is_missing(name: str) -> bool:
    try:
        return not extra_is_installed(name)
    except ResourceUnavailable:  # faintcall runs from its source files, without being installed
        return False
