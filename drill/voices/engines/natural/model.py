"""The natural voice's model file, which hibari-tts contains; its digest is checked before use."""

import hashlib
import json
import threading
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

from drill.core.errors import NoVoice
from drill.core.packages import pip_install_command
from drill.voices.engines.natural.network import AcousticNetwork

NATURAL_MODEL_SHA256 = "5f70741d4e900f4e85d0037498736cc1b3e1b9a63a13546a5da1e63abf4fccd8"
# --no-deps leaves out onnxruntime, which is not used here and not available everywhere.
_REMEDY = (
    f"install it with: {pip_install_command('--no-deps', 'hibari-tts==0.2.1')}, or choose formant "
    "operators"
)
_REINSTALL_REMEDY = (
    "install it again with: "
    f"{pip_install_command('--force-reinstall', '--no-deps', 'hibari-tts==0.2.1')}, or choose "
    "formant operators"
)
_loading = threading.Lock()


def assets_folder() -> Path:
    """Return the folder of the model file and its symbols.

    Raises: NoVoice if hibari-tts is not installed.
    """
    spec = find_spec("hibari")
    if spec is None or not spec.origin:
        raise NoVoice(f"the natural voice needs the package hibari-tts: {_REMEDY}")
    return Path(spec.origin).parent / "assets"


@lru_cache(maxsize=1)
def natural_model_content() -> bytes:
    """Return the content of the model file. Raises: NoVoice if it is missing or not this one."""
    path = assets_folder() / "hibari.onnx"
    try:
        content = path.read_bytes()
    except OSError as error:
        raise NoVoice(
            f"the natural voice's model cannot be read ({error}): {_REINSTALL_REMEDY}"
        ) from None
    if hashlib.sha256(content).hexdigest() != NATURAL_MODEL_SHA256:
        raise NoVoice(
            f"the natural voice's model {path} is not the version that was tested: "
            f"{_REINSTALL_REMEDY}"
        )
    return content


def load_network() -> AcousticNetwork:
    """Return the model, loaded once in a process. Raises: NoVoice as natural_model_content."""
    with _loading:
        return _load_network()


@lru_cache(maxsize=1)
def _load_network() -> AcousticNetwork:
    return AcousticNetwork(natural_model_content())


@lru_cache(maxsize=1)
def natural_symbol_numbers() -> dict[str, int]:
    """Return the number of each symbol that the model reads. Raises: NoVoice as assets_folder."""
    symbols: dict[str, int] = json.loads((assets_folder() / "vocab.json").read_text("utf-8"))
    return symbols
