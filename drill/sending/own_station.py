"""Whose prompts they are: the trainee's own call and exchange, kept as they were given last."""

from pathlib import Path
from typing import Protocol

from drill.core.errors import UserError
from drill.sending.prompts import Station, station
from phonetics.exchanges import ExchangeError, load_exchange

CALL, EXCHANGE = "own-call", "own-exchange"
"""Names of the settings."""
USUAL = "serial"


class Keeper(Protocol):
    """What keeps settings: the record, in practice."""

    def setting(self, name: str) -> str | None:
        """Return a setting, None where it was never set."""
        ...

    def set_setting(self, name: str, value: str) -> None:
        """Keep a setting."""
        ...


def known(keeper: Keeper) -> tuple[str | None, str]:
    """Return the call, None where there is none yet, and the exchange's name."""
    return keeper.setting(CALL), keeper.setting(EXCHANGE) or USUAL


def at(call: str, exchange: str, folder: Path) -> Station:
    """Return the station of a call and an exchange, by name; folder: of the user's own exchanges.

    Raises: UserError where call or exchange is none.
    """
    try:
        found = load_exchange(exchange, folder)
    except ExchangeError as error:
        raise UserError(str(error)) from None
    return station(call, found)


def own_station(keeper: Keeper, call: str | None, exchange: str | None, folder: Path) -> Station:
    """Return whose prompts they are, as given or as set before; what is given is kept.

    Raises: UserError where there is no call yet, or call or exchange is none.
    """
    last_call, last_exchange = known(keeper)
    own, name = call or last_call, exchange or last_exchange
    if own is None:
        raise UserError("your own call is not known yet; give it once: --call CALL")
    found = at(own, name, folder)
    keeper.set_setting(CALL, found.call.text)
    keeper.set_setting(EXCHANGE, name)
    return found
