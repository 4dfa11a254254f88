"""Lets the recogniser copy the trainee's items, with a progress bar."""

import sys

from tqdm import tqdm

from drill.cli.wrapping import print_text
from drill.core.counting import plural
from drill.records.store import Store
from drill.session.machine import copy_items, items_to_copy, machine_recogniser

_QUIET_S = 1.0
"""The progress bar appears after this time."""


def copy_by_machine(store: Store, *, session: str = "") -> None:
    """Let the recogniser copy the items that it has not copied yet; Ctrl-C stops it without loss.

    session: only the items of this session, "" for all. Raises: NoRecogniser.
    """
    recogniser = machine_recogniser()
    items = items_to_copy(store, recogniser, session=session)
    without_voice = 0
    with tqdm(
        total=len(items),
        desc="machine",
        unit="item",
        disable=None,
        file=sys.stderr,
        delay=_QUIET_S,
    ) as bar:
        try:
            for copied in copy_items(store, items, recogniser):
                without_voice += copied is None
                bar.update()
        except KeyboardInterrupt:
            print_text("The recogniser was stopped; its copies so far are saved.")
    if without_voice:
        print_text(
            f"The recogniser left out {plural(without_voice, 'item')}, because the voice is not "
            "installed here."
        )
