"""Any body, any path, any order: the response is one line with a fitting status, never a crash."""

import json
import string
import struct
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from drill.core.conditions import STAGES
from drill.linkbudget.form import FORM_NUMBERS
from drill.radio import presets
from drill.session.changes import CHANGES
from drill.session.kinds import registered_kinds
from drill.session.settings import known_settings
from drill.web.api import listen
from tests.web.client import begin_session, disable_prefetch, logged_in_client

pytestmark = pytest.mark.slow
FEW = settings(max_examples=60, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A client of a server with its own record; an exception in the server fails the test."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAINTCALL_HOME", str(tmp_path_factory.mktemp("fuzz")))
        disable_prefetch(patch)
        yield logged_in_client()


scalars = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)  # JSON has no such numbers
    | st.text(max_size=30)
    | st.sampled_from(["\ud800", "\x00", "../../etc/passwd", "9" * 400, 10**400, -(2**63), 1e308])
)
json_values = st.recursive(
    scalars,
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=9), inner, max_size=4)
    ),
    max_leaves=8,
)


def forms(entries: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    """Return forms with some of the entries, mostly of the right type, sometimes of any."""
    return st.fixed_dictionaries({}, optional={k: v | json_values for k, v in entries.items()})


def check_response(response: Any) -> None:
    """Check that the status is one of the API's and that an error is one line."""
    assert response.status_code in (200, 303, 400, 403, 404, 405, 409, 413), response.text
    if response.status_code >= 400:
        message = response.json()["error"]
        assert message
        assert "\n" not in message
        assert len(message) < 4000  # a message may list all voices of the system


def post(client: TestClient, path: str, body: Any) -> Any:
    """Post JSON that httpx would refuse to encode, such as half a surrogate pair."""
    content = json.dumps(body).encode()
    return client.post(path, content=content, headers={"content-type": "application/json"})


CONDITION_ENTRIES = {
    "conditions": st.sampled_from(presets.preset_names()),
    "snr_db": st.floats(-40, 70),
    "fading": st.sampled_from([*presets.fading_names(), "1/1", "1/", "a/b", "1e400/2", "nan/1"]),
    "filter": st.sampled_from([*presets.receiver_names(), "1800+200", "9", "1-", "1e999+1"]),
    "processing": st.sampled_from(["none", "compressed", "clipped"]),
    "watts": st.floats(0, 2000),
    "path_snr_db": st.floats(-50, 50),
    "static_db": st.floats(0, 15),
    "off_frequency_hz": st.floats(-600, 600),
    "pace": st.floats(0.5, 2),
    "voices": st.lists(
        st.sampled_from(["rivet", "tin", "birch", "nobody", "system-x"]), max_size=3
    ),
    "seed": st.integers(-1, 2**64),
}
SESSION_ENTRIES = {
    **CONDITION_ENTRIES,
    "kind": st.sampled_from([kind.name for kind in registered_kinds()]),
    "count": st.integers(-2, 200),
    "part": st.sampled_from(["call", "exchange", "over"]),
    "exchange": st.sampled_from(["serial", "zone-itu", "../x", "five-part"]),
    "mix": st.sampled_from(["unassigned", "world", "con", "../x"]),
    "alternates": st.floats(-0.5, 1.5),
    "until_db": st.floats(0, 12),
    "compare": st.fixed_dictionaries(
        {
            "option": st.sampled_from([*CHANGES]) | json_values,
            "values": st.lists(st.sampled_from(["steady", "0", "0.5", "usual", "nan"]))
            | json_values,
        }
    ),
}
ANSWER_ENTRIES = {
    "number": st.integers(-1, 3),
    "text": st.text(max_size=60),
    "seconds": st.floats(0, 100),
    "replays": st.integers(0, 3),
    "gave_up": st.booleans(),
}
SETTING_ENTRIES = {
    "volume": st.floats(-1, 2),
    "scheme": st.sampled_from(["dark", "light", "system", "red"]),
    "last_practice": st.dictionaries(st.text(max_size=9), json_values, max_size=3),
}
PATH_PARTS = (
    *("api", "static", "sessions", "items", "answers", "noise.wav", "clean.wav", "history"),
    *("result", "0", "-1", "9" * 30, "..", "%2e%2e", "%00", "?limit=x"),
)
HEADER_NAMES = (
    *("host", "origin", "cookie", "content-type", "content-length", "sec-fetch-site"),
    *("accept-encoding", "range", "transfer-encoding"),
)


@FEW
@given(form=forms(SESSION_ENTRIES))
@example(form={"kind": "practice", "snr_db": 10**400})
@example(form={"kind": "practice", "part": "\ud800"})
@example(form={"kind": ["practice"]})
@example(form={"kind": "practice", "fading": "nan/nan"})
@example(form={"kind": "comparison", "compare": {"option": "alternates", "values": ["nan", "0"]}})
@example(form={"kind": "comparison", "compare": {"option": "voices", "values": ["", "+"]}})
def test_session_form_never_crashes_and_a_begun_session_continues(
    client: TestClient, form: dict[str, Any]
) -> None:
    response = post(client, "/api/sessions", form)
    check_response(response)
    if response.status_code == 200:
        session = f"/api/sessions/{response.json()['id']}"
        for path in (session, f"{session}/result"):
            assert client.get(path).status_code == 200
        answer = {"number": 0, "text": "E8ABC", "seconds": 1}
        assert post(client, f"{session}/answers", answer).status_code == 200


@FEW
@given(body=forms(ANSWER_ENTRIES))
def test_answer_never_crashes_and_only_an_accepted_one_counts(
    client: TestClient, body: dict[str, Any]
) -> None:
    session = f"/api/sessions/{begin_session(client, count=3)['id']}"
    response = post(client, f"{session}/answers", body)
    check_response(response)
    number = client.get(session).json()["number"]
    assert number == (1 if response.status_code == 200 else 0)


@FEW
@given(
    body=forms(
        {name: st.floats(-5, 200) for name in FORM_NUMBERS}
        | {
            "path_s": st.sampled_from(["7", "9+10", "S9", "-1", "9+", "9+nan", "1e400"]),
            "here": st.sampled_from(["city", "rural", "moon"]),
            "there": st.sampled_from(["city", "rural", "moon"]),
        }
    )
)
@example(body={"watts": 10**400})
def test_budget_form_never_crashes(client: TestClient, body: dict[str, Any]) -> None:
    check_response(post(client, "/api/budget", body))


@FEW
@given(values=forms(SETTING_ENTRIES), value=json_values)
@example(values={}, value={"volume": 10**400})
@example(values={"last_practice": {"mix": "\ud800"}}, value=None)
@example(values={"last_practice": {"\ud800": 1}}, value="\ud800")
def test_settings_never_crash_and_stay_complete(
    client: TestClient, values: dict[str, Any], value: Any
) -> None:
    check_response(post(client, "/api/settings", {"values": values}))
    check_response(post(client, "/api/settings", {"values": value}))
    check_response(post(client, "/api/cautions", {"hearing": value}))
    check_response(post(client, "/api/again", {"nonce": value}))
    body = {"nonce": "n", "server_nonce": value, "proof": value}
    check_response(post(client, "/api/again", body))
    assert set(client.get("/api/settings").json()["values"]) == set(known_settings())


@FEW
@given(form=forms({**CONDITION_ENTRIES, "without": st.lists(st.sampled_from([*STAGES, "rain"]))}))
def test_listening_form_never_crashes(client: TestClient, form: dict[str, Any]) -> None:
    """Checks everything before the sound is rendered."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(listen, "listen_json", lambda plan, stages, sounds: {"seed": plan.seed})
        check_response(post(client, "/api/listen", form))


def wav_header(audio_format: int, channels: int, rate_hz: int, bits: int) -> bytes:
    """Return the header of a WAV file of 200 bytes, whether such a format exists or not."""
    frame_bytes = channels * bits // 8 & 0xFFFF
    return struct.pack(
        "<4sI8sIHHIIHH4sI",
        *(b"RIFF", 236, b"WAVEfmt ", 16, audio_format, channels, rate_hz),
        *(rate_hz * frame_bytes & 0xFFFFFFFF, frame_bytes, bits, b"data", 200),
    )


@FEW
@given(
    query=st.dictionaries(
        st.sampled_from(["kind", "seed", "call", "exchange", "song"]), st.text(max_size=20)
    ),
    content=st.binary(max_size=200),
    header=st.builds(
        wav_header,
        audio_format=st.sampled_from([1, 3, 7, 0xFFFE]),
        channels=st.integers(0, 2**16 - 1) | st.integers(1, 2),
        rate_hz=st.integers(0, 2**32 - 1) | st.integers(8_000, 48_000),
        bits=st.sampled_from([8, 16, 24, 32, 64]),
    ),
)
@example(query={}, content=b"\xff" * 64, header=wav_header(3, 1, 48_000, 32))
def test_malformed_take_is_refused(
    client: TestClient, query: dict[str, str], content: bytes, header: bytes
) -> None:
    valid_query = {"kind": "call", "seed": "4", "call": "E87ABC", "exchange": "serial"}
    for parameters in (query, valid_query):
        for data in (content, header + content):
            headers = {"content-type": "audio/wav"}
            response = client.post(
                "/api/speak/takes", params=parameters, content=data, headers=headers
            )
            assert response.status_code == 400, response.text
            assert "\n" not in response.json()["error"]


POST_PATHS = (
    *("sessions", "budget", "settings", "listen", "again", "cautions"),
    *("speak", "speak/prompts", "speak/far"),
    *("sets", "sets/cancel", "sets/x/copy", "sets/x/continue", "sets/x/delete"),
    *("word-banks", "word-banks/x/delete", "people", "people/delete"),
)


@FEW
@given(
    path=st.sampled_from(POST_PATHS),
    content=st.binary(max_size=200) | json_values.map(lambda data: json.dumps(data).encode()),
)
@example(path="budget", content=b"[" * 5_000)
@example(path="settings", content=b'{"a":' * 10_000)
@example(path="again", content=b"1" * 5000)
@example(path="budget", content=b'{"watts": NaN}')
@example(path="listen", content=b"\xff\xfe")
@example(path="sessions", content=b"")
def test_body_of_any_bytes_never_crashes(client: TestClient, path: str, content: bytes) -> None:
    headers = {"content-type": "application/json"}
    response = client.post(f"/api/{path}", content=content, headers=headers)
    assert response.status_code in (200, 400, 403, 404)


NAMES = st.text(max_size=9) | st.sampled_from(["spring", "../x", "alfa", "-70", "nan", "yes"])
FILE_PATHS = {
    "mixes": ("application/octet-stream", ("name", "replace")),
    "sets/add": ("application/zip", ("name",)),
    "import": ("application/jsonl", ("person",)),
    "word-banks/room": ("audio/wav", ()),
    "word-banks/words": ("audio/wav", ("bank", "word", "noise_db", "keep")),
}
"""Addresses that accept a file: its content type, and the entries of the query."""


@FEW
@given(
    path=st.sampled_from(sorted(FILE_PATHS)),
    values=st.lists(NAMES, min_size=4, max_size=4),
    content=st.binary(max_size=200) | st.sampled_from([b"PK\x03\x04", b"START-OF-LOG: 3.0\n"]),
)
def test_a_file_of_any_bytes_is_refused(
    client: TestClient, path: str, values: list[str], content: bytes
) -> None:
    media_type, names = FILE_PATHS[path]
    query = dict(zip(names, values, strict=False))
    headers = {"content-type": media_type}
    response = client.post(f"/api/{path}", params=query, content=content, headers=headers)
    check_response(response)
    assert path == "import" or response.status_code in (400, 404)


@FEW
@given(
    path=st.lists(
        st.sampled_from(PATH_PARTS) | st.text(string.printable, max_size=8), max_size=6
    ).map("/".join)
)
def test_any_path_gets_a_fitting_response(client: TestClient, path: str) -> None:
    try:
        response = client.get(f"/{path}", follow_redirects=False)
    except Exception as error:
        # The client itself refuses some paths.
        if type(error).__name__ not in ("InvalidURL", "UnsupportedProtocol", "LocalProtocolError"):
            raise
        return
    assert response.status_code in (200, 400, 403, 404, 405)


@FEW
@given(name=st.sampled_from(HEADER_NAMES), value=st.text(string.printable.strip(), max_size=40))
def test_any_header_gets_a_fitting_response(client: TestClient, name: str, value: str) -> None:
    response = client.post("/api/settings", json={"values": {}}, headers={name: value})
    assert response.status_code in (200, 400, 403, 413)


def test_unknown_item_numbers_are_not_found(client: TestClient) -> None:
    session = begin_session(client, count=2)["id"]
    for number in ("1", "2", "99999999999999999999", "-1", "0x0", "1.0", "\u0661"):
        item = f"/api/sessions/{session}/items/{number}"
        assert client.get(item).status_code == 404
        assert client.get(f"{item}/noise.wav").status_code == 404
