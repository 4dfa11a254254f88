"""Lists the system's voices or speaks a text, for drill.voices.engines.system.engine.

Runs as a script in its own process and speaks once per process, because pyttsx3 prints, hangs in
threads, and writes only the last of several files. It reads a JSON object (voice, rate, text, file;
without text it lists the voices) on standard input and writes one line of JSON.
"""

import ctypes
import json
import os
import sys
from typing import Any


def list_or_speak(request: dict[str, Any]) -> dict[str, Any]:
    """Return {"voices": [[id, name, languages]]}, or {} after the text is spoken to the file."""
    _provide_espeak()
    import pyttsx3

    engine = pyttsx3.init()
    if "text" not in request:
        voices = engine.getProperty("voices") or ()
        return {"voices": [[voice.id, voice.name, _languages(voice)] for voice in voices]}
    engine.setProperty("voice", request["voice"])
    words_per_minute = engine.getProperty("rate")
    engine.setProperty("rate", round(words_per_minute * request["rate"]))
    engine.save_to_file(request["text"], request["file"])
    engine.runAndWait()
    return {}


def _provide_espeak() -> None:
    """On Linux without espeak-ng, load the library of espeakng-loader's wheel for pyttsx3.

    A library that is already loaded is found by its soname, so it need not be installed.
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


def _languages(voice: Any) -> list[str]:
    """Return a voice's languages as text; the drivers give text, bytes or nothing."""
    return [
        language.decode("utf-8", "replace") if isinstance(language, bytes) else str(language)
        for language in voice.languages or ()
    ]


def main() -> None:
    """Answer the request on standard input; only the answer goes to the real standard output."""
    request = json.load(sys.stdin)
    output = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    try:
        answer = list_or_speak(request)
    except Exception as error:  # drivers raise errors of any kind; the user sees one line
        answer = {"error": str(error).strip().partition("\n")[0] or type(error).__name__}
    print(json.dumps(answer), file=output, flush=True)
    sys.stderr.flush()
    os._exit(0)  # a driver's thread may not end by itself


if __name__ == "__main__":
    main()
