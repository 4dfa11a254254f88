"""Any body, any path, any order: the answer is one line with a fitting status, never a crash."""

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
from drill.radio import presets
from drill.session.changes import CHANGES
from drill.session.settings import known_settings
from drill.web.api import listen as listen_api
from tests.web.client import begin, unspoken, visitor

FEW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A visitor with a record of its own; a crash of the server fails the test as itself."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FAINTCALL_HOME", str(tmp_path_factory.mktemp("fuzzed")))
        unspoken(patch)
        yield visitor()


names = st.text(max_size=9)
scalars = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)  # JSON has neither
    | st.text(max_size=30)
    | st.sampled_from(["\ud800", "\x00", "../../etc/passwd", "9" * 400, 10**400, -(2**63), 1e308])
)
anything = st.recursive(
    scalars,
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=9), inner, max_size=4)
    ),
    max_leaves=8,
)


def forms(known: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    """Return forms of the entries known, each mostly of its own kind, now and then of any."""
    return st.fixed_dictionaries({}, optional={k: v | anything for k, v in known.items()})


def held(reply: Any) -> None:
    """Fail where the answer is no answer of this API."""
    assert reply.status_code in (200, 303, 400, 403, 404, 405, 409, 413), reply.text
    if reply.status_code >= 400:
        told = reply.json()["error"]
        assert told
        assert "\n" not in told
        assert len(told) < 4000  # the names of a system's voices are many


def post(client: TestClient, path: str, body: Any) -> Any:
    content = json.dumps(body).encode()
    return client.post(path, content=content, headers={"content-type": "application/json"})


CONDITIONS = {
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
SITTING = {
    **CONDITIONS,
    "kind": st.sampled_from(["practice", "training", "measuring", "quick", "comparing"]),
    "count": st.integers(-2, 200),
    "part": st.sampled_from(["call", "exchange", "over"]),
    "exchange": st.sampled_from(["serial", "zone-itu", "../x", "five-part"]),
    "mix": st.sampled_from(["unassigned", "world", "con", "../x"]),
    "alternates": st.floats(-0.5, 1.5),
    "until_db": st.floats(0, 12),
    "compare": st.fixed_dictionaries(
        {
            "thing": st.sampled_from([*CHANGES]) | anything,
            "values": st.lists(st.sampled_from(["steady", "0", "0.5", "usual", "nan"])) | anything,
        }
    ),
}
ANSWER = {
    "number": st.integers(-1, 3),
    "text": st.text(max_size=60),
    "seconds": st.floats(0, 100),
    "replays": st.integers(0, 3),
    "gave_up": st.booleans(),
}
BUDGET = {
    name: st.floats(-5, 200)
    for name in (
        "watts",
        "far_watts",
        "frequency",
        "path_snr",
        "antenna",
        "far_antenna",
        "short",
        "wire_length",
        "loss_ohms",
        "line",
        "line_length",
        "line_loss",
        "atmospheric",
    )
} | {
    "path_s": st.sampled_from(["7", "9+10", "S9", "-1", "9+", "9+nan", "1e400"]),
    "here": st.sampled_from(["city", "rural", "moon"]),
    "there": st.sampled_from(["city", "rural", "moon"]),
}
PARTS = (
    *("api", "static", "sittings", "items", "answers", "noise.wav", "clean.wav", "history"),
    *("result", "0", "-1", "9" * 30, "..", "%2e%2e", "%00", "?limit=x"),
)
VALUES = {
    "volume": st.floats(-1, 2),
    "scheme": st.sampled_from(["dark", "light", "system", "red"]),
    "last_practice": st.dictionaries(st.text(max_size=9), anything, max_size=3),
}


@FEW
@given(form=forms(SITTING))
@example(form={"kind": "practice", "snr_db": 10**400})
@example(form={"kind": "practice", "part": "\ud800"})
@example(form={"kind": ["practice"]})
@example(form={"kind": "practice", "fading": "nan/nan"})
@example(form={"kind": "comparing", "compare": {"thing": "alternates", "values": ["nan", "0"]}})
@example(form={"kind": "comparing", "compare": {"thing": "voices", "values": ["", "+"]}})
def test_any_sitting(client: TestClient, form: dict[str, Any]) -> None:
    reply = post(client, "/api/sessions", form)
    held(reply)
    if reply.status_code == 200:  # what was begun can be gone on with
        one = f"/api/sessions/{reply.json()['id']}"
        for path in (one, f"{one}/result"):
            assert client.get(path).status_code == 200
        answer = {"number": 0, "text": "E8ABC", "seconds": 1}
        assert post(client, f"{one}/answers", answer).status_code == 200


@FEW
@given(body=forms(ANSWER))
def test_any_answer(client: TestClient, body: dict[str, Any]) -> None:
    state = begin(client, count=3)
    reply = post(client, f"/api/sessions/{state['id']}/answers", body)
    held(reply)
    number = client.get(f"/api/sessions/{state['id']}").json()["number"]
    assert number == (1 if reply.status_code == 200 else 0)


@FEW
@given(body=forms(BUDGET))
@example(body={"watts": 10**400})
def test_any_budget(client: TestClient, body: dict[str, Any]) -> None:
    held(post(client, "/api/budget", body))


@FEW
@given(values=forms(VALUES), more=anything)
@example(values={}, more={"volume": 10**400})
@example(values={"last_practice": {"mix": "\ud800"}}, more=None)
@example(values={"last_practice": {"\ud800": 1}}, more="\ud800")
def test_any_settings(client: TestClient, values: dict[str, Any], more: Any) -> None:
    held(post(client, "/api/settings", {"values": values}))
    held(post(client, "/api/settings", {"values": more}))
    held(post(client, "/api/cautions", {"hearing": more}))
    held(post(client, "/api/again", {"token": more}))
    assert set(client.get("/api/settings").json()["values"]) == set(known_settings())


@FEW
@given(form=forms({**CONDITIONS, "without": st.lists(st.sampled_from([*STAGES, "rain"]))}))
def test_any_listening(client: TestClient, form: dict[str, Any]) -> None:
    """Up to the sound: what is refused is refused before the work."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(listen_api, "listen_json", lambda plan, stages, sounds: {"seed": plan.seed})
        held(post(client, "/api/listen", form))


def wav_head(form: int, channels: int, rate_hz: int, bits: int) -> bytes:
    """Return the head of a WAV file that says so, whether there is such a thing or not."""
    step = channels * bits // 8 & 0xFFFF
    return struct.pack(
        "<4sI8sIHHIIHH4sI",
        *(b"RIFF", 236, b"WAVEfmt ", 16, form, channels, rate_hz),
        *(rate_hz * step & 0xFFFFFFFF, step, bits, b"data", 200),
    )


@FEW
@given(
    query=st.dictionaries(
        st.sampled_from(["kind", "seed", "call", "exchange", "song"]), st.text(max_size=20)
    ),
    content=st.binary(max_size=200),
    head=st.builds(
        wav_head,
        form=st.sampled_from([1, 3, 7, 0xFFFE]),
        channels=st.integers(0, 2**16 - 1) | st.integers(1, 2),
        rate_hz=st.integers(0, 2**32 - 1) | st.integers(8_000, 48_000),
        bits=st.sampled_from([8, 16, 24, 32, 64]),
    ),
)
@example(query={}, content=b"\xff" * 64, head=wav_head(3, 1, 48_000, 32))
def test_any_take(client: TestClient, query: dict[str, str], content: bytes, head: bytes) -> None:
    prompt = {"kind": "call", "seed": "4", "call": "E87ABC", "exchange": "serial"}
    for asked in (query, prompt):
        for data in (content, head + content):
            kind = {"content-type": "audio/wav"}
            reply = client.post("/api/speak/takes", params=asked, content=data, headers=kind)
            assert reply.status_code == 400, reply.text
            assert "\n" not in reply.json()["error"]


POSTED = (
    "sittings",
    "budget",
    "settings",
    "listen",
    "again",
    "cautions",
    "speak",
    "speak/prompts",
    "speak/far",
)


@FEW
@given(
    path=st.sampled_from(POSTED),
    content=st.binary(max_size=200) | anything.map(lambda data: json.dumps(data).encode()),
)
@example(path="budget", content=b"[" * 5_000)
@example(path="settings", content=b'{"a":' * 10_000)
@example(path="again", content=b"1" * 5000)
@example(path="budget", content=b'{"watts": NaN}')
@example(path="listen", content=b"\xff\xfe")
@example(path="sittings", content=b"")
def test_any_content(client: TestClient, path: str, content: bytes) -> None:
    kind = {"content-type": "application/json"}
    reply = client.post(f"/api/{path}", content=content, headers=kind)
    assert reply.status_code in (200, 400, 403)


@FEW
@given(
    path=st.lists(
        st.sampled_from(
            [
                "api",
                "static",
                "sittings",
                "items",
                "answers",
                "0",
                "-1",
                "9" * 30,
                "..",
                "noise.wav",
                "clean.wav",
                "history",
                "result",
                "%2e%2e",
                "%00",
                "?limit=x",
            ]
        )
        | st.text(string.printable, max_size=8),
        max_size=6,
    ).map("/".join)
)
def test_any_path(client: TestClient, path: str) -> None:
    try:
        reply = client.get(f"/{path}", follow_redirects=False)
    except Exception as error:
        if type(error).__name__ not in ("InvalidURL", "UnsupportedProtocol", "LocalProtocolError"):
            raise
        return
    assert reply.status_code in (200, 400, 403, 404, 405)


@FEW
@given(
    one=st.sampled_from(
        [
            "host",
            "origin",
            "cookie",
            "content-type",
            "content-length",
            "sec-fetch-site",
            "accept-encoding",
            "range",
            "transfer-encoding",
        ]
    ),
    value=st.text(string.printable.strip(), max_size=40),
)
def test_any_head(client: TestClient, one: str, value: str) -> None:
    reply = client.post("/api/settings", json={"values": {}}, headers={one: value})
    assert reply.status_code in (200, 400, 403, 413)


def test_items_by_any_number(client: TestClient) -> None:
    state = begin(client, count=2)
    for number in ("1", "2", "99999999999999999999", "-1", "0x0", "1.0", "\u0661"):
        reply = client.get(f"/api/sessions/{state['id']}/items/{number}")
        assert reply.status_code == 404
        assert (
            client.get(f"/api/sessions/{state['id']}/items/{number}/noise.wav").status_code == 404
        )
