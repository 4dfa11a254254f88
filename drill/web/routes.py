"""The API's routes: the function for each address, and the encoding of requests and responses.

Functions run in threads; the event loop only reads requests and writes responses.
"""

from collections.abc import Callable, Iterator
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from drill.web import request_fields
from drill.web.api.budget import budget_json
from drill.web.api.cautions import cautions_json, confirm_cautions
from drill.web.api.choices import choices_json
from drill.web.api.contacts import ContactApi
from drill.web.api.costliest import costliest_json
from drill.web.api.heard import heard_json
from drill.web.api.history import delete_session, history_json, session_answers_json
from drill.web.api.item_sets import SetsApi, add_set_from_file, copy_set, set_scores, set_zip
from drill.web.api.lately import lately_json
from drill.web.api.learnt_voices import LearntVoicesApi
from drill.web.api.listen import ListenApi
from drill.web.api.machine_copies import copy_for_a_while
from drill.web.api.mixes import learn_mix_from_upload, mixes_json
from drill.web.api.people import choose_person, delete_person, people_comparison, people_json
from drill.web.api.record_files import export_bytes, import_bytes
from drill.web.api.report import ReportCache
from drill.web.api.selfcheck import SelfCheckApi
from drill.web.api.sending import SendingApi
from drill.web.api.sessions import SessionApi
from drill.web.api.settings import save_settings, settings_json
from drill.web.api.snr_examples import snr_examples_json
from drill.web.api.sounds import cached_sound
from drill.web.api.studio import StudioApi
from drill.web.api.today import today_json
from drill.web.api.word_banks import (
    create_word_bank,
    delete_word_bank,
    measure_room,
    record_word,
    recorded_word,
    word_bank_json,
    word_banks_json,
)
from drill.web.audio_cache import AudioCache
from drill.web.body_rules import (
    ADD_SET_PATH,
    IMPORT_PATH,
    MIXES_PATH,
    ROOM_PATH,
    TAKES_PATH,
    VOICE_PATH,
    WORD_PATH,
    ZIP_TYPE,
)

SESSION = "/api/sessions/{id}"
ITEM = f"{SESSION}/items/{{number:int}}"
CONTACT = "/api/contacts/{id}"
SET = "/api/sets/{name}"
BANK = "/api/word-banks/{name}"
STATION = f"{CONTACT}/stations/{{number:int}}"


def api_routes() -> list[Route]:
    """Return all routes of the API except /api/again."""
    sessions, sounds, studio = SessionApi(), AudioCache(), StudioApi()
    listening, report, self_check = ListenApi(sounds), ReportCache(), SelfCheckApi()
    return [
        *session_routes(sessions),
        *sending_routes(SendingApi(sounds)),
        *contact_routes(ContactApi(sounds)),
        *set_routes(SetsApi()),
        *word_bank_routes(),
        get_json("/api/choices", lambda _: choices_json()),
        get_json("/api/history", lambda r: history_json(r.query_params.get("limit"))),
        get_json("/api/history/{id}", lambda r: session_answers_json(r.path_params["id"])),
        get_file("/api/export/{format}", lambda r: export_bytes(r.path_params["format"])),
        post_file(
            IMPORT_PATH, lambda r, data: import_bytes(dict(r.query_params), data, _media_type(r))
        ),
        post_json("/api/history/{id}/delete", lambda r, _: delete_session(r.path_params["id"])),
        get_json("/api/people", lambda _: people_json()),
        post_json("/api/people", lambda _, data: choose_person(data)),
        get_json("/api/people/comparison", lambda _: people_comparison()),
        post_json("/api/people/delete", lambda _, data: delete_person(data)),
        get_json(MIXES_PATH, lambda _: mixes_json()),
        post_file(MIXES_PATH, lambda r, data: learn_mix_from_upload(dict(r.query_params), data)),
        get_json("/api/selfcheck", lambda _: self_check.state()),
        post_json("/api/selfcheck", lambda _, data: self_check.start()),
        post_json("/api/selfcheck/cancel", lambda _, data: self_check.cancel()),
        get_json("/api/snr-examples", lambda _: snr_examples_json()),
        get_json("/api/today", lambda _: today_json()),
        get_json("/api/lately", lambda _: lately_json()),
        get_json("/api/costliest", lambda _: costliest_json()),
        get_json("/api/report", lambda _: report.report()),
        post_json("/api/machine-copies", lambda _, data: copy_for_a_while()),
        post_json("/api/listen", lambda _, data: listening.listen(data)),
        post_json("/api/listen/pictures", lambda _, data: listening.pictures(data)),
        get_wav("/api/sounds/{name}.wav", lambda r: cached_sound(sounds, r.path_params["name"])),
        post_json("/api/budget", lambda _, data: budget_json(data)),
        get_json("/api/settings", lambda _: settings_json()),
        post_json("/api/settings", lambda _, data: save_settings(data)),
        get_json("/api/studio", lambda _: studio.state()),
        post_json("/api/studio", lambda _, data: studio.add(data)),
        get_json("/api/cautions", lambda _: cautions_json()),
        post_json("/api/cautions", lambda _, data: confirm_cautions(data)),
    ]


def session_routes(sessions: SessionApi) -> list[Route]:
    """Return the routes for sessions."""
    return [
        get_json("/api/sessions", lambda _: {"open": sessions.open_sessions()}),
        post_json("/api/sessions", lambda _, data: sessions.begin(data)),
        get_json(SESSION, lambda r: sessions.state(r.path_params["id"])),
        get_json(f"{SESSION}/result", lambda r: sessions.result(r.path_params["id"])),
        get_json(ITEM, lambda r: sessions.item(r.path_params["id"], r.path_params["number"])),
        *(
            get_wav(f"{ITEM}/{which}.wav", _item_sound(sessions, which))
            for which in ("noise", "clean")
        ),
        get_json(
            f"{ITEM}/heard", lambda r: heard_json(r.path_params["id"], r.path_params["number"])
        ),
        post_json(f"{SESSION}/answers", lambda r, data: sessions.answer(r.path_params["id"], data)),
    ]


def sending_routes(sending: SendingApi) -> list[Route]:
    """Return the routes for the sending drill."""
    return [
        get_json("/api/speak", lambda _: sending.options_json()),
        post_json("/api/speak", lambda _, data: sending.save_own_station(data)),
        post_json("/api/speak/prompts", lambda _, data: sending.new_prompt(data)),
        post_file(TAKES_PATH, lambda r, data: sending.review_take(dict(r.query_params), data)),
        post_json("/api/speak/far", lambda _, data: sending.far_end(data)),
    ]


def contact_routes(contacts: ContactApi) -> list[Route]:
    """Return the routes for sessions of contacts."""
    return [
        get_json("/api/contacts", lambda _: contacts.options()),
        post_json("/api/contacts", lambda _, data: contacts.begin(data)),
        get_json(
            CONTACT,
            lambda r: contacts.state(
                r.path_params["id"], r.query_params.get("window"), r.query_params.get("station")
            ),
        ),
        post_json(f"{CONTACT}/time", lambda r, data: contacts.pass_time(r.path_params["id"], data)),
        post_json(f"{CONTACT}/acts", lambda r, data: contacts.act(r.path_params["id"], data)),
        post_json(
            f"{CONTACT}/next", lambda r, data: contacts.next_contact(r.path_params["id"], data)
        ),
        post_file(VOICE_PATH, lambda r, data: contacts.speak(dict(r.query_params), data)),
        get_wav(
            f"{STATION}/again.wav",
            lambda r: contacts.again(r.path_params["id"], r.path_params["number"]),
        ),
        *(
            get_wav(f"{STATION}/overs/{{index:int}}/{which}.wav", _over_sound(contacts, which))
            for which in ("noise", "clean")
        ),
    ]


def set_routes(sets: SetsApi) -> list[Route]:
    """Return the routes for sets of items."""
    return [
        get_json("/api/sets", lambda _: sets.sets_json()),
        post_json("/api/sets", lambda _, data: sets.render(data)),
        post_json("/api/sets/cancel", lambda _, data: sets.cancel()),
        post_file(
            ADD_SET_PATH,
            lambda r, data: add_set_from_file(
                dict(r.query_params), data, zipped=_media_type(r) == ZIP_TYPE
            ),
        ),
        get_stream(f"{SET}/zip", lambda r: set_zip(r.path_params["name"])),
        get_json(f"{SET}/scores", lambda r: set_scores(r.path_params["name"])),
        post_json(f"{SET}/copy", lambda r, data: copy_set(r.path_params["name"], data)),
        post_json(f"{SET}/continue", lambda r, _: sets.continue_set(r.path_params["name"])),
        post_json(f"{SET}/delete", lambda r, _: sets.delete(r.path_params["name"])),
    ]


def word_bank_routes() -> list[Route]:
    """Return the routes for recording a voice of one's own."""
    learnt = LearntVoicesApi()
    return [
        get_json("/api/learnt-voices", lambda _: learnt.state()),
        post_json("/api/learnt-voices", lambda _, data: learnt.learn(data)),
        post_json("/api/learnt-voices/use", lambda _, data: learnt.use(data)),
        post_json("/api/learnt-voices/forget", lambda _, data: learnt.forget(data)),
        get_json("/api/word-banks", lambda _: word_banks_json()),
        post_json("/api/word-banks", lambda _, data: create_word_bank(data)),
        post_file(ROOM_PATH, lambda _, data: measure_room(data)),
        post_file(WORD_PATH, lambda r, data: record_word(dict(r.query_params), data)),
        get_json(BANK, lambda r: word_bank_json(r.path_params["name"])),
        get_wav(
            f"{BANK}/words/{{word}}.wav",
            lambda r: recorded_word(r.path_params["name"], r.path_params["word"]),
        ),
        post_json(f"{BANK}/delete", lambda r, _: delete_word_bank(r.path_params["name"])),
    ]


def _over_sound(contacts: ContactApi, which: str) -> Callable[[Request], bytes]:
    return lambda r: contacts.over(
        r.path_params["id"], r.path_params["number"], r.path_params["index"], which
    )


def _item_sound(sessions: SessionApi, which: str) -> Callable[[Request], bytes]:
    return lambda r: sessions.sound(r.path_params["id"], r.path_params["number"], which)


def get_json(path: str, handle: Callable[[Request], Any]) -> Route:
    """Return a GET route whose function gives JSON data."""

    def endpoint(request: Request) -> Response:
        return JSONResponse(handle(request))

    return Route(path, endpoint, methods=["GET"])


def post_json(path: str, handle: Callable[[Request, dict[str, Any]], Any]) -> Route:
    """Return a POST route whose function takes a JSON object and gives JSON data."""

    async def endpoint(request: Request) -> Response:
        data = request_fields.json_object(await request.body())
        return JSONResponse(await run_in_threadpool(handle, request, data))

    return Route(path, endpoint, methods=["POST"])


def post_file(path: str, handle: Callable[[Request, bytes], Any]) -> Route:
    """Return a POST route whose function takes a file and gives JSON data."""

    async def endpoint(request: Request) -> Response:
        data = await request.body()
        return JSONResponse(await run_in_threadpool(handle, request, data))

    return Route(path, endpoint, methods=["POST"])


def get_file(path: str, handle: Callable[[Request], bytes]) -> Route:
    """Return a GET route whose function gives a file to save."""

    def endpoint(request: Request) -> Response:
        return Response(handle(request), media_type="application/octet-stream")

    return Route(path, endpoint, methods=["GET"])


def get_stream(path: str, handle: Callable[[Request], Iterator[bytes]]) -> Route:
    """Return a GET route whose function yields the pieces of a file to save."""

    def endpoint(request: Request) -> Response:
        return StreamingResponse(handle(request), media_type="application/octet-stream")

    return Route(path, endpoint, methods=["GET"])


def _media_type(request: Request) -> str:
    """Return the content type of a request's body; `security` has checked it."""
    return request.headers["content-type"].split(";")[0].strip().lower()


def get_wav(path: str, handle: Callable[[Request], bytes]) -> Route:
    """Return a GET route whose function gives a WAV file."""

    def endpoint(request: Request) -> Response:
        return Response(handle(request), media_type="audio/wav")

    return Route(path, endpoint, methods=["GET"])
