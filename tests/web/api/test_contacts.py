"""/api/contacts: a simulated page plays contacts and sends the time with each request."""

from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from drill.contact.air import samples
from drill.contact.sessions import ContactSession
from drill.core.audio_files import read_audio_bytes
from drill.core.paths import record_file
from drill.records.store import Store
from tests.web.client import disable_prefetch, logged_in_client

OPTIONS = {
    "call": "E87ABC",
    "voice": "rivet",
    "ears": "model",
    "window": "first",
    "count": 2,
    "seed": 7,
    "mix": "unassigned",
    "voices": ["rivet"],
    "path_snr_db": 25,
}
STEP_S = 0.5


class ContactPage:
    """Does what the page does: it keeps a clock, lets time pass, and acts."""

    def __init__(self, client: TestClient, identity: str, window: str = "first") -> None:
        self.client, self.window, self.base = client, window, f"/api/contacts/{identity}"
        self.sounds: list[dict[str, Any]] = []
        self.adopt(client.get(self.base, params={"window": window}).json())

    def adopt(self, reply: dict[str, Any]) -> None:
        self.reply, self.live = reply, reply["live"]
        self.now = self.live["now"]
        if reply["sound"]:
            self.sounds.append(reply["sound"])

    def body(self, at: int) -> dict[str, Any]:
        return {
            "window": self.window,
            "contact": self.live["contact"],
            "acts": self.live["acts"],
            "at": at,
        }

    def post(self, action: str, **more: Any) -> Any:
        at = more.pop("at", self.now)
        return self.client.post(f"{self.base}/{action}", json={**self.body(at), **more})

    def pass_time(self, seconds: float = STEP_S) -> None:
        response = self.post("time", at=self.now + samples(seconds))
        assert response.status_code == 200, response.text
        self.adopt(response.json())

    def act(self, kind: str, text: str = "") -> None:
        response = self.post("acts", kind=kind, text=text)
        assert response.status_code == 200, response.text
        self.adopt(response.json())

    def next(self) -> None:
        body = {name: self.body(0)[name] for name in ("window", "contact", "acts")}
        response = self.client.post(f"{self.base}/next", json=body)
        assert response.status_code == 200, response.text
        self.adopt(response.json())

    def listen(self, count: int) -> None:
        """Let time pass until `count` stretches of received audio have been played."""
        for _ in range(120):
            stretches = [entry for entry in self.live["score"] if not entry["said"]]
            if len(stretches) >= count and self.sounds[-1]["until"] <= self.now:
                return
            self.pass_time()
        raise AssertionError("nothing was heard for a minute")

    def work(self, note: str = "") -> None:
        """Call after the first audio, give the exchange after the next, note, and log."""
        self.listen(1)
        self.act("call")
        self.listen(2)
        self.act("exchange")
        self.listen(3)
        if note:
            self.act("note", note)
        self.act("log")


@pytest.fixture
def client(home: object, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    disable_prefetch(monkeypatch)
    return logged_in_client()


def begin(client: TestClient, **more: Any) -> dict[str, Any]:
    response = client.post("/api/contacts", json={**OPTIONS, **more})
    assert response.status_code == 200, response.text
    state: dict[str, Any] = response.json()
    return state


@pytest.fixture
def page(client: TestClient) -> ContactPage:
    return ContactPage(client, begin(client)["session"]["id"])


def texts(value: Any) -> Iterator[str]:
    """Yield every text in JSON data."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from texts(inner)


def recorded(identity: str) -> ContactSession:
    """Return the session as stored in the record."""
    store = Store(record_file())
    return ContactSession.load(store, store.contact_sessions(1)[0], number=0)


def test_options_suggest_a_call_that_cannot_be_assigned(client: TestClient) -> None:
    options = client.get("/api/contacts").json()
    assert options["call"] is None
    assert options["offered_call"] == "E87ABC"
    assert options["sessions"] == []
    begin(client, call="e87 xyz", exchange="zone-itu")
    options = client.get("/api/contacts").json()
    assert (options["call"], options["exchange"]) == ("E87XYZ", "zone-itu")


def test_a_contact_from_the_general_call_to_both_logs(client: TestClient) -> None:
    page = ContactPage(client, begin(client)["session"]["id"])
    assert page.reply["session"]["count"] == 2
    assert page.live["ended"] == ""
    page.work("x99 59 001")
    ending = page.reply["ending"]
    assert page.live["ended"] == "logged"
    assert {row["label"] for row in ending["slips"]} == {"worked", "you gave", "they gave"}
    assert ending["heading"] == page.reply["session"]["contacts"][0]["heading"]
    assert [over["who"] for over in ending["overs"]][:2] == ["they", "you"]
    assert sum(part["seconds"] for part in ending["spent"]) > 5
    # Every over can be played again, with noise and clean, and so can the whole contact.
    for over in ending["overs"][:2]:
        for variant in ("noise", "clean"):
            clip = read_audio_bytes(client.get(over[variant]).content, longest_s=60)
            assert 0.5 < clip.seconds < over["seconds"] + 1
    whole = read_audio_bytes(client.get(ending["again"]).content, longest_s=600)
    assert whole.seconds == pytest.approx(sum(p["seconds"] for p in ending["spent"]), abs=0.5)
    page.next()
    assert (page.live["contact"], page.live["acts"], page.live["now"]) == (1, 0, 0)
    page.act("leave")
    assert page.reply["session"]["finished"]
    assert page.reply["session"]["result"]["table"]["rows"]
    state = client.get(page.base, params={"station": 0}).json()
    assert state["ending"] == ending


def test_nothing_that_was_heard_is_reported_before_the_end(page: ContactPage) -> None:
    page.listen(2)
    station = recorded(page.base).contact.frequency.station
    told = " ".join(texts(page.reply))
    assert station.speaker.call not in told
    assert station.speaker.operator is not None
    page.act("note", "e8?x 59")
    assert page.live["entry"] == {"call": "E8?X", "exchange": "59", "complete": False}
    assert page.live["score"][-1]["notes"] == ["e8?x 59"]


def test_sound_begins_when_somebody_can_be_heard(client: TestClient, page: ContactPage) -> None:
    page.listen(1)
    (sound, *_) = page.sounds
    clip = read_audio_bytes(client.get(sound["url"]).content, longest_s=60)
    assert samples(clip.seconds) == pytest.approx(sound["until"] - sound["at"], abs=64)
    assert sound["at"] == samples(1.0)


def test_no_sound_is_returned_while_the_trainee_sends(page: ContactPage) -> None:
    page.listen(1)
    page.act("call")
    assert page.reply["live"]["starts_sending"]
    until = page.live["sending_until"]
    assert until > page.now
    count = len(page.sounds)
    page.pass_time((until - page.now) / 16000 / 2)
    assert page.live["sending_until"] == until
    assert len(page.sounds) == count
    page.act("break-off")
    page.pass_time(0.1)
    assert page.live["sending_until"] is None


def test_an_over_has_the_words_that_the_page_announces(page: ContactPage) -> None:
    page.listen(1)
    says = page.live["sayings"]["call"]
    assert says == "echo eight seven alfa bravo charlie"
    page.act("call")
    assert page.live["score"][-1]["text"] == says
    assert page.live["score"][-1]["said"] == ["call"]


def test_a_killed_server_continues_from_the_record(client: TestClient, page: ContactPage) -> None:
    page.listen(1)
    page.act("call")
    page.act("note", "e8?")
    again = ContactPage(logged_in_client(), page.base.rpartition("/")[2])
    assert again.live == {**page.live, "starts_sending": False}
    again.listen(2)
    page.client = again.client
    assert page.post("time").status_code == 200  # the same window goes on with the new server


def test_two_windows_do_not_disturb_each_other(client: TestClient, page: ContactPage) -> None:
    page.listen(1)
    other = ContactPage(client, page.base.rpartition("/")[2], window="second")
    assert other.live["score"] == page.live["score"]
    response = page.post("acts", kind="call")
    assert response.status_code == 409
    assert response.json()["state"] == {"other_window": True}
    other.act("call")
    # The first window takes the session back and sees what the second did.
    page.adopt(client.get(page.base, params={"window": "first"}).json())
    assert page.live["acts"] == 1
    assert other.post("time").status_code == 409


def test_a_repeated_request_acts_once(page: ContactPage) -> None:
    page.listen(1)
    before = page.body(page.now)
    page.act("call")
    response = page.client.post(f"{page.base}/acts", json={**before, "kind": "call"})
    assert response.status_code == 409
    state = response.json()["state"]
    assert state["live"]["acts"] == 1
    page.adopt(state)
    page.pass_time()


def test_present_sound_continues_after_a_reload(client: TestClient, page: ContactPage) -> None:
    page.pass_time(1.5)
    first = page.sounds[-1]
    page.pass_time(1.0)
    again = ContactPage(client, page.base.rpartition("/")[2], window="second")
    assert again.sounds[-1]["until"] == first["until"]
    assert again.sounds[-1]["at"] == page.now > first["at"]


def test_an_over_by_microphone_is_sent_unchanged(client: TestClient, page: ContactPage) -> None:
    page.listen(1)
    clean = client.get(page.sounds[0]["url"]).content
    query = {**page.body(page.now), "session": page.base.rpartition("/")[2]}
    response = client.post(
        "/api/contacts/voice", params=query, content=clean, headers={"content-type": "audio/wav"}
    )
    assert response.status_code == 200, response.text
    start = page.now
    page.adopt(response.json())
    assert page.live["score"][-1]["said"] == ["voice"]
    # The time during which the trainee spoke has passed.
    assert page.now >= start + samples(read_audio_bytes(clean, longest_s=60).seconds)
    silence = client.post(
        "/api/contacts/voice",
        params={**page.body(page.now), "session": query["session"]},
        content=clean[:44] + bytes(32000),
        headers={"content-type": "audio/wav"},
    )
    assert "no speech was heard" in silence.json()["error"]


def test_wrong_requests_get_one_line(client: TestClient, page: ContactPage) -> None:
    for body, word in (
        ({"kind": "sing"}, "sing"),
        ({"kind": "voice"}, "microphone"),
        ({"kind": "call", "at": -1}, "time"),
        ({"kind": "call", "at": 10**12}, "time"),
        ({"kind": "call", "acts": None}, "acts"),
    ):
        response = page.post("acts", **body)
        assert response.status_code == 400, body
        assert word in response.json()["error"]
    assert client.get("/api/contacts/nothing").status_code == 404
    assert client.get(f"{page.base}/stations/0/again.wav").status_code == 404
    assert client.get(page.base, params={"station": 7}).status_code == 404
    assert client.get(page.base, params={"station": "x"}).status_code == 400
    for wrong in ({"call": "E8"}, {"ears": "keen"}, {"snr_db": 3}, {"voice": "nobody"}):
        assert client.post("/api/contacts", json={**OPTIONS, **wrong}).status_code == 400
