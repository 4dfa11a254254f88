"""Kinds of field in a log are recognised by the names in the log, or from whole columns."""

import pytest

from drill.callmix.contest_log import LogContact
from drill.callmix.exchange_kinds import count_kinds
from phonetics.callsigns import parse_callsign
from tests.drill.callmix.invented_logs import invented_calls


@pytest.mark.parametrize("kind", ["zone-itu", "zone-amateur"])
def test_zones_are_recognised_by_the_calls(kind: str) -> None:
    contacts = []
    for call in invented_calls(80, mix="world"):
        place = parse_callsign(call).place
        zone = place.itu_zone if kind == "zone-itu" else place.amateur_zone
        contacts.append(LogContact(call=call, unnamed=("59", f"{zone:02d}")))
    assert count_kinds(contacts) == {"report": 80, kind: 80}
