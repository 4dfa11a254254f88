"""The state of a hunt at one time, for screens."""

from drill.contact.acts import CALL, LOG, NOTE
from drill.hunt.acts import MARK, TUNE, HuntAct
from drill.hunt.live import LiveHunt
from drill.hunt.snapshot import hunt_snapshot
from tests.drill.hunt.sounding import ten_minutes


def test_a_snapshot_holds_what_the_trainee_did() -> None:
    live = LiveHunt(ten_minutes())
    hz = live.dial_hz + 1000
    for kind, text, to_hz in (
        (TUNE, "", hz),
        (NOTE, "oh2qrk 81", None),
        (LOG, "", None),
        (MARK, "strong", None),
        (NOTE, "dl4qrb", None),
        (CALL, "", None),
    ):
        live.act(HuntAct(at=16_000, kind=kind, text=text, hz=to_hz))
    snapshot = hunt_snapshot(live)
    assert (snapshot.now, snapshot.dial_hz, snapshot.acts) == (16_000, hz, 6)
    assert snapshot.marks == ((hz, "strong"),)
    assert [(line.call, line.got) for line in snapshot.lines] == [("OH2QRK", "81")]
    assert snapshot.notes == ("dl4qrb",)
    assert snapshot.said == (CALL,)
    assert snapshot.sending is not None
    assert snapshot.sending[1] == snapshot.sayings[CALL]


def test_a_snapshot_does_not_change_with_the_hunt() -> None:
    live = LiveHunt(ten_minutes())
    before = hunt_snapshot(live)
    live.act(HuntAct(at=0, kind=NOTE, text="dl4qrb"))
    assert before.notes == ()
    assert hunt_snapshot(live).notes == ("dl4qrb",)


def test_what_was_said_is_forgotten_on_another_frequency() -> None:
    live = LiveHunt(ten_minutes())
    live.act(HuntAct(at=0, kind=CALL))
    assert hunt_snapshot(live).said == (CALL,)
    live.act(HuntAct(at=0, kind=TUNE, hz=live.dial_hz + 500))
    assert hunt_snapshot(live).said == ()
