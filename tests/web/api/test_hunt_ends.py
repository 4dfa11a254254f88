"""/api/hunts/ID/end: the end of a hunt from its record, and the overs of its contacts."""

from dataclasses import replace
from datetime import UTC, datetime

from starlette.testclient import TestClient

from drill.core.audio_files import read_audio_bytes
from drill.core.paths import record_file
from drill.hunt.acts import END, HuntAct
from drill.hunt.sessions import HuntSession
from drill.hunt.speech import VoiceSpeech
from drill.records.store import Store
from tests.drill.hunt.simple_hunter import SimpleHunter, make_setup

NOW = datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


def hunted(*, ended: bool = True, errs: bool = False, quick: bool = False) -> str:
    """Record a hunt with one contact; return its id. quick: without speech."""
    setup = make_setup()
    setup = replace(setup, plan=replace(setup.plan, voices=("rivet",)), voice="rivet")
    with Store(record_file()) as store:
        speech = None if quick else VoiceSpeech()
        session = HuntSession.begin(setup, store, now=NOW, speech=speech)
        hunter = SimpleHunter(session.live, session.act, session.advance)
        if errs:
            hunter.errs = lambda text: "OF1QUN " + text.split(maxsplit=1)[1]
        assert hunter.work(hunter.strongest()[0])
        if ended:
            session.act(HuntAct(at=session.live.now, kind=END))
            session.result()
        return session.identity


def test_the_end_has_result_overs_and_sounds(client: TestClient) -> None:
    identity = hunted(quick=True)
    end = client.get(f"/api/hunts/{identity}/end").json()
    assert (end["figure"], end["after"]) == ("1 of 1", "contacts are right in both logs")
    assert end["lamps"] == [True]
    assert end["lost"] == []
    assert end["no_advice"]
    assert end["times"][0]["name"] == "tuning"
    assert {table["caption"] for table in end["tables"].values()} >= {"Where the time went"}
    assert end["dial"]["says"].startswith("The dial over")
    assert end["dial"]["contacts"][0]["right"]
    low, high = end["dial"]["bands"][0]["low_khz"], end["dial"]["bands"][0]["high_khz"]
    assert all(low <= khz <= high for _, khz in end["dial"]["points"])


def test_unfinished_and_unknown_hunts_are_not_found(client: TestClient) -> None:
    identity = hunted(ended=False, quick=True)
    assert client.get(f"/api/hunts/{identity}/end").status_code == 404
    assert client.get(f"/api/hunts/{'0' * 32}/end").status_code == 404
    ended = hunted(quick=True)
    for path in ("contacts/1/overs", "contacts/0/overs/99/clean.wav"):
        assert client.get(f"/api/hunts/{ended}/{path}").status_code == 404


def test_a_lost_contact_can_be_played_again(client: TestClient) -> None:
    identity = hunted(errs=True)
    end = client.get(f"/api/hunts/{identity}/end").json()
    (lost,) = end["lost"]
    assert lost["call"] == "OF1QUN"
    assert lost["what"].startswith("wrong call: it was ")
    reply = client.get(f"/api/hunts/{identity}/contacts/0/overs").json()
    overs = reply["overs"]
    assert overs[0]["who"] == "they"
    theirs = next(over for over in overs if over["who"] == "they")
    mine = next(over for over in overs if over["who"] == "you")
    assert mine["noise"] == ""
    assert mine["heard"]
    for url in (theirs["noise"], theirs["clean"], mine["clean"]):
        response = client.get(url)
        assert response.status_code == 200, response.text
        clip = read_audio_bytes(response.content, longest_s=60.0)
        assert clip.seconds > 1
        assert abs(clip.samples).max() > 0.05
