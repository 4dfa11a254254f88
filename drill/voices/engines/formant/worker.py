"""Speak one over with the espeak-ng library and leave: the work of drill.voices.engines.formant.engine.

Run as a script, with nothing but the standard library. Reads a JSON object on standard input
(library, folder, voice, text, rate, seed), writes one line of JSON (rate_hz, events, or error) and
then the samples, 16 bits little-endian. A process a call: the library keeps noise state between
calls, is not safe in threads, and may end its process.
"""

import ctypes
import json
import os
import sys
import tempfile
from pathlib import Path
from typing import Any

SYNCHRONOUS = 2
NO_EXIT = 0x8000
PHONEME_EVENTS = 1
UTF8 = 1
RATE = 1  # number of the parameter: words a minute
WORD, PHONEME = 1, 7  # types of events


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


def speak(order: dict[str, Any]) -> tuple[int, list[list[Any]], bytes]:
    """Return sample rate in Hz, events [type, text position, sample, name] and the samples.

    Raises: OSError, RuntimeError where the library cannot be loaded or refuses.
    """
    library = ctypes.CDLL(order["library"])
    # The library holds 160 characters of a path: from inside its folder it needs but one.
    os.chdir(order["folder"])
    rate_hz = library.espeak_Initialize(SYNCHRONOUS, 0, b".", NO_EXIT | PHONEME_EVENTS)
    if rate_hz <= 0:
        raise RuntimeError("its data folder is not readable")
    sound: list[bytes] = []
    events: list[list[Any]] = []

    def receive(samples: Any, count: int, heard: Any) -> int:
        if count > 0:
            sound.append(ctypes.string_at(samples, 2 * count))
        at = 0
        while heard[at].type:
            event = heard[at]
            name = event.name.decode("utf-8", "replace") if event.type == PHONEME else ""
            if event.type in (WORD, PHONEME):
                events.append([event.type, event.text_position, event.sample, name])
            at += 1
        return 0

    callback = ctypes.CFUNCTYPE(
        ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.POINTER(Event)
    )(receive)
    library.espeak_SetSynthCallback(callback)
    _set_voice(library, order["voice"])
    library.espeak_SetParameter(RATE, order["rate"], 0)
    library.espeak_ng_SetRandSeed(ctypes.c_long(order["seed"]))
    text = order["text"].encode()
    if library.espeak_Synth(text, len(text) + 1, 0, 1, 0, UTF8, None, None):
        raise RuntimeError("it refuses the text")
    return rate_hz, events, b"".join(sound)


def _set_voice(library: ctypes.CDLL, lines: str) -> None:
    """Hand the library a voice of our own, which it takes only as a file."""
    handle, name = tempfile.mkstemp(suffix=".voice")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(lines)
        encoding = "mbcs" if sys.platform == "win32" else sys.getfilesystemencoding()
        if library.espeak_ng_SetVoiceByFile(name.encode(encoding)):
            raise RuntimeError("it refuses the voice")
    finally:
        Path(name).unlink()


def main() -> None:
    """Do what standard input orders."""
    try:
        rate_hz, events, sound = speak(json.load(sys.stdin))
        head: dict[str, Any] = {"rate_hz": rate_hz, "events": events}
    except (OSError, RuntimeError, AttributeError) as error:
        head, sound = {"error": str(error)}, b""
    sys.stdout.buffer.write(json.dumps(head).encode() + b"\n" + sound)
    sys.stdout.buffer.flush()


if __name__ == "__main__":
    main()
