"""List the system's voices or speak one text with one of them: the work of drill.voices.engines.system.engine.

Run as a script in a process of its own. pyttsx3 writes only the last of several files, hangs in
threads and prints, so each process speaks once. Reads a JSON object on standard input (voice, rate,
text, file; without text it lists), writes one line of JSON.
"""

import ctypes
import json
import os
import sys
from typing import Any


def lend_library() -> None:
    """Let pyttsx3 find the espeak-ng library of its wheel where the system has none (Linux).

    A library that is loaded already is found by its soname, so nothing has to be installed.
    """
    if sys.platform != "linux":
        return
    try:
        ctypes.CDLL("libespeak-ng.so.1")
        return
    except OSError:
        pass
    import espeakng_loader

    os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
    ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)


def answer(order: dict[str, Any]) -> dict[str, Any]:
    """Return {"voices": [[id, name, languages]]} or, after speaking to the file, {}."""
    lend_library()
    import pyttsx3

    engine = pyttsx3.init()
    if "text" not in order:
        return {"voices": [[each.id, each.name, _languages(each)] for each in _voices(engine)]}
    engine.setProperty("voice", order["voice"])
    usual = engine.getProperty("rate")
    engine.setProperty("rate", round(usual * order["rate"]))
    engine.save_to_file(order["text"], order["file"])
    engine.runAndWait()
    return {}


def _voices(engine: Any) -> list[Any]:
    return list(engine.getProperty("voices") or ())


def _languages(voice: Any) -> list[str]:
    """Return the languages as text: the drivers give text, bytes or nothing."""
    given = voice.languages or ()
    return [
        each.decode("utf-8", "replace") if isinstance(each, bytes) else str(each) for each in given
    ]


def main() -> None:
    """Do what standard input orders; only the answer goes to the true standard output."""
    order = json.load(sys.stdin)
    out = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    try:
        told = answer(order)
    except Exception as error:  # whatever a driver raises is told to the user in one line
        told = {"error": str(error).strip().partition("\n")[0] or type(error).__name__}
    print(json.dumps(told), file=out, flush=True)
    sys.stderr.flush()
    os._exit(0)  # a driver's thread may not end by itself


if __name__ == "__main__":
    main()
