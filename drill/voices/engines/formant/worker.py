"""Speaks one over with the espeak-ng library, for drill.voices.engines.formant.engine.

Runs as a script that imports only the standard library. It reads a JSON object (library, folder,
voice, text, rate, seed) on standard input and writes one line of JSON (rate_hz and events, or
error), then the samples as little-endian 16-bit integers. With `--serve` it answers one request a
line, each in a forked child; see drill.voices.engines.worker_server.

Each over needs a fresh process, because the library keeps the state of its noise between calls, is
not thread-safe, and may terminate its process.
"""

import ctypes
import json
import os
import sys
import tempfile
from pathlib import Path
from typing import Any

# Constants of espeak-ng's speak_lib.h.
_AUDIO_OUTPUT_SYNCHRONOUS = 2
_DONT_EXIT = 0x8000
_PHONEME_EVENTS = 1
_CHARS_UTF8 = 1
_PHONEMES_IN_BRACKETS = 0x100
_RATE_PARAMETER = 1  # words per minute
_WORD_EVENT, _PHONEME_EVENT = 1, 7


class Event(ctypes.Structure):
    """espeak_EVENT of speak_lib.h, with the bytes of its union as text."""

    _fields_ = (
        ("type", ctypes.c_int),
        ("unique", ctypes.c_uint),
        ("text_position", ctypes.c_int),
        ("length", ctypes.c_int),
        ("audio_position", ctypes.c_int),
        ("sample", ctypes.c_int),
        ("user_data", ctypes.c_void_p),
        ("name", ctypes.c_char * 8),
    )


def answer_request(line: bytes) -> bytes:
    """Return the answer to a request: a line of JSON and the samples."""
    try:
        rate_hz, events, samples = speak_text(json.loads(line))
    except (OSError, RuntimeError, AttributeError) as error:
        return json.dumps({"error": str(error)}).encode() + b"\n"
    return json.dumps({"rate_hz": rate_hz, "events": events}).encode() + b"\n" + samples


def speak_text(request: dict[str, Any]) -> tuple[int, list[list[Any]], bytes]:
    """Return sample rate in Hz, events [type, text position, sample, name] and the samples.

    Raises: OSError, RuntimeError or AttributeError if the library cannot be loaded or fails.
    """
    library = ctypes.CDLL(request["library"])
    # The library truncates paths to 160 characters; inside the folder the path is ".".
    os.chdir(request["folder"])
    options = _DONT_EXIT | _PHONEME_EVENTS
    rate_hz = library.espeak_Initialize(_AUDIO_OUTPUT_SYNCHRONOUS, 0, b".", options)
    if rate_hz <= 0:
        raise RuntimeError("its data folder cannot be read")
    sound: list[bytes] = []
    events: list[list[Any]] = []

    def receive(samples: Any, count: int, received: Any) -> int:
        if count > 0:
            sound.append(ctypes.string_at(samples, 2 * count))
        index = 0
        while received[index].type:
            event = received[index]
            name = event.name.decode("utf-8", "replace") if event.type == _PHONEME_EVENT else ""
            if event.type in (_WORD_EVENT, _PHONEME_EVENT):
                events.append([event.type, event.text_position, event.sample, name])
            index += 1
        return 0

    callback = ctypes.CFUNCTYPE(
        ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.POINTER(Event)
    )(receive)
    library.espeak_SetSynthCallback(callback)
    _set_voice(library, request["voice"])
    library.espeak_SetParameter(_RATE_PARAMETER, request["rate"], 0)
    library.espeak_ng_SetRandSeed(ctypes.c_long(request["seed"]))
    text = request["text"].encode()
    flags = _CHARS_UTF8 | _PHONEMES_IN_BRACKETS
    if library.espeak_Synth(text, len(text) + 1, 0, 1, 0, flags, None, None):
        raise RuntimeError("it refused the text")
    return rate_hz, events, b"".join(sound)


def _set_voice(library: ctypes.CDLL, lines: str) -> None:
    """Load a voice definition; the library reads definitions only from files."""
    handle, name = tempfile.mkstemp(suffix=".voice")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(lines)
        encoding = "mbcs" if sys.platform == "win32" else sys.getfilesystemencoding()
        if library.espeak_ng_SetVoiceByFile(name.encode(encoding)):
            raise RuntimeError("it refused the voice")
    finally:
        Path(name).unlink()


def answer_requests() -> None:
    """Answer one request per line until standard input ends."""
    for line in sys.stdin.buffer:
        answer = _answer_in_child(line)
        sys.stdout.buffer.write(len(answer).to_bytes(8, "big") + answer)
        sys.stdout.buffer.flush()


def _answer_in_child(line: bytes) -> bytes:
    """Return the answer of a forked child, or an error if the child ends without one."""
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(read_end)
            with os.fdopen(write_end, "wb") as pipe:
                pipe.write(answer_request(line))
        finally:
            os._exit(0)
    os.close(write_end)
    with os.fdopen(read_end, "rb") as pipe:
        answer = pipe.read()
    _, status = os.waitpid(child, 0)
    if not answer:
        code = os.waitstatus_to_exitcode(status)
        answer = json.dumps({"error": f"its process ended with {code}"}).encode() + b"\n"
    return answer


def main() -> None:
    """Answer the request on standard input, or serve."""
    if "--serve" in sys.argv:
        answer_requests()
        return
    sys.stdout.buffer.write(answer_request(sys.stdin.buffer.read()))
    sys.stdout.buffer.flush()


if __name__ == "__main__":
    main()
