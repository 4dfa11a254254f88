"""The caution about hearing and licences, shown once before the first sound."""

import textwrap
from datetime import UTC, datetime

from drill.core.errors import UserError
from drill.records.store import Store

CAUTION = (
    "Before you start, protect your hearing: turn the volume down now, especially with headphones, "
    "and raise it until the first voice is just comfortable. Weak signals need a quiet room, not "
    "loud headphones. The program limits the level and starts each sound smoothly, but only you "
    "can set the volume. Take breaks.",
    "The calls are fictional: never put practice audio on the air. Transmit only with a licence "
    "and under the rules of your country.",
)
"""Two paragraphs."""
LINE_LENGTH = 79


def confirm_caution(store: Store) -> None:
    """Show the caution and wait for Enter, unless it was confirmed before.

    Raises: UserError if the input ends before Enter.
    """
    if store.has_seen("hearing"):
        return
    for paragraph in CAUTION:
        print(textwrap.fill(paragraph, LINE_LENGTH))
    try:
        input("Press Enter when the volume is low. ")
    except EOFError:
        print()
        raise UserError(
            "the caution about your hearing has to be confirmed once; run the command in a "
            "terminal and press Enter"
        ) from None
    store.set_seen("hearing", now=datetime.now(UTC))
