"""The trainee's own station: call and exchange, stored as settings."""

from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from drill.core.errors import UserError
from phonetics.callsign_mixes import CallsignMix
from phonetics.callsigns import Callsign, parse_callsign
from phonetics.exchanges import Exchange, ExchangeError, load_exchange

CALL_SETTING, EXCHANGE_SETTING = "own-call", "own-exchange"
DEFAULT_EXCHANGE = "serial"


class SettingStore(Protocol):
    """A store of settings, such as the record."""

    def setting(self, name: str) -> str | None:
        """Return the text of a setting, None if it was never set."""
        ...

    def set_setting(self, name: str, value: str) -> None:
        """Store the text of a setting."""
        ...


@dataclass(frozen=True, kw_only=True, slots=True)
class OwnStation:
    """The trainee's call and exchange, and the mix of the other stations' calls."""

    call: Callsign
    exchange: Exchange
    mix: str | CallsignMix = "unassigned"


def make_own_station(call: str, exchange: Exchange) -> OwnStation:
    """Return the station with a call as typed; case and spaces do not matter.

    Raises: UserError with field "call" if the text does not have the structure of a call.
    """
    try:
        callsign = parse_callsign("".join(call.split()).upper())
    except ValueError as error:
        raise UserError(f"own call: {error}", field="call") from None
    return OwnStation(call=callsign, exchange=exchange)


def load_own_station(call: str, exchange_name: str, folder: Path) -> OwnStation:
    """Return the station with this call and the named exchange; folder: the user's exchanges.

    Raises: UserError with field "exchange" or "call".
    """
    try:
        exchange = load_exchange(exchange_name, folder)
    except ExchangeError as error:
        raise UserError(str(error), field="exchange") from None
    return make_own_station(call, exchange)


def stored_own_station(store: SettingStore) -> tuple[str | None, str]:
    """Return the stored call, None if there is none yet, and the name of the exchange."""
    return store.setting(CALL_SETTING), store.setting(EXCHANGE_SETTING) or DEFAULT_EXCHANGE


def update_own_station(
    store: SettingStore, call: str | None, exchange_name: str | None, folder: Path
) -> OwnStation:
    """Return the station, with stored values in place of None; store the new values.

    Raises: UserError with field "call", kind "missing", if no call is stored yet; UserError with
    field "call" or "exchange" if one of them cannot be used, in which case nothing is stored.
    """
    stored_call, stored_exchange = stored_own_station(store)
    call, exchange_name = call or stored_call, exchange_name or stored_exchange
    if call is None:
        raise UserError(
            "your own call is not set; enter it once, such as E87ABC", field="call", kind="missing"
        )
    station = load_own_station(call, exchange_name, folder)
    store.set_setting(CALL_SETTING, station.call.text)
    store.set_setting(EXCHANGE_SETTING, exchange_name)
    return station
