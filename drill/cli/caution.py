"""The caution before the first sound."""

from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drill.records.store import Store

CAUTION = """Before you start, your ears: set the volume low now, above all with headphones, and
raise it until the first voice is just comfortable. Weak signals call for a quiet room, not for a
loud headphone. The level is limited and rises smoothly, but only you can set it. Take breaks.
The calls are fictional: never put practice audio on the air, and transmit only with a licence and
under the rules of your country."""


def caution(store: "Store") -> None:
    """Show the caution at the first start, until it has been confirmed once."""
    if store.has_seen("hearing"):
        return
    print(CAUTION)
    input("Press Enter when the volume is low. ")
    store.set_seen("hearing", now=datetime.now(UTC))
