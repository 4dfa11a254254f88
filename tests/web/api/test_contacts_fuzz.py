"""Any form, any act and any time of a contact: one line with a fitting status, never a crash."""

from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from drill.contact.acts import ACT_KINDS
from drill.contact.air import samples
from tests.web.api.test_contacts import OPTIONS
from tests.web.client import disable_prefetch, logged_in_client
from tests.web.test_fuzz import CONDITION_ENTRIES, check_response, forms, post

pytestmark = pytest.mark.slow
FEW = settings(max_examples=20, suppress_health_check=list(HealthCheck))
FORM_ENTRIES = {
    **CONDITION_ENTRIES,
    "call": st.sampled_from(["E87ABC", "e87 abc", "", "E8", "\ud800"]),
    "voice": st.sampled_from(["rivet", "nobody", ""]),
    "ladder": st.booleans(),
    "window": st.text(max_size=9),
    "count": st.integers(-1, 120),
}
TIME_ENTRIES = {
    "window": st.sampled_from(["first", "other"]),
    "contact": st.integers(-1, 2),
    "acts": st.integers(0, 2),
    "at": st.integers(-1, samples(30)),
}
ACT_ENTRIES = {
    **TIME_ENTRIES,
    "kind": st.sampled_from([*ACT_KINDS, "sing"]),
    "text": st.text(max_size=30),
}


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A client of a server with its own record; an exception in the server fails the test."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAINTCALL_HOME", str(tmp_path_factory.mktemp("contact-fuzz")))
        disable_prefetch(patch)
        yield logged_in_client()


def begin(client: TestClient) -> str:
    response = client.post("/api/contacts", json=OPTIONS)
    return f"/api/contacts/{response.json()['session']['id']}"


@FEW
@given(form=forms(FORM_ENTRIES))
@example(form={"snr_db": 3})
@example(form={"ladder": True, "watts": 5})
@example(form={"window": 3})
def test_form_never_crashes_and_a_begun_session_can_be_opened(
    client: TestClient, form: dict[str, Any]
) -> None:
    response = post(client, "/api/contacts", {**form, "ears": "model"})
    check_response(response)
    if response.status_code == 200:
        session = response.json()["session"]["id"]
        assert client.get(f"/api/contacts/{session}").status_code == 200


@FEW
@given(acts=st.lists(st.tuples(forms(ACT_ENTRIES), st.booleans()), max_size=4))
def test_acts_never_crash_and_the_record_follows(
    client: TestClient, acts: list[tuple[dict[str, Any], bool]]
) -> None:
    session = begin(client)
    known: dict[str, Any] = {"window": "first", "contact": 0, "acts": 0, "at": 0}
    for body, is_act in acts:
        response = post(client, f"{session}/{'acts' if is_act else 'time'}", {**known, **body})
        check_response(response)
        if response.status_code == 200:
            live = response.json()["live"]
            known |= {"contact": live["contact"], "acts": live["acts"], "at": live["now"]}
    live = client.get(session).json()["live"]
    assert live["acts"] == known["acts"]
    # A server without memory finds the same; a finished contact is asked for by its number.
    finished = f"?station={live['contact']}" if live["ended"] else ""
    again = logged_in_client().get(session + finished).json()["live"]
    assert again["acts"] == live["acts"]
    assert again["ended"] == live["ended"]


@FEW
@given(
    query=st.dictionaries(
        st.sampled_from(["session", *TIME_ENTRIES, "song"]), st.text(max_size=9), max_size=6
    ),
    data=st.binary(max_size=300),
)
def test_overs_by_microphone_never_crash(
    client: TestClient, query: dict[str, str], data: bytes
) -> None:
    headers = {"content-type": "audio/wav"}
    check_response(client.post("/api/contacts/voice", params=query, content=data, headers=headers))
    check_response(client.get("/api/contacts/x", params=query))
