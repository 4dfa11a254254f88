"""The acoustic model of hibari-tts in numpy: from phonemes to spectra, pitch and durations.

Two text encoders read the symbols. The prosody network (`pn`) gives each symbol a duration, and
each frame a pitch and an energy. The decoder (`m`) gives each frame the log spectra of a harmonic
part and two noise parts. The result equals that of ONNX's reference evaluator in double precision
to the last bit (tests/outside/test_network.py), in about a seventh of the time.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import FloatArray
from drill.voices.engines.natural.layers import Layers
from drill.voices.engines.natural.onnx_file import read_weights
from drill.voices.engines.natural.quantised import Singles, gelu

_PROSODY_DILATIONS = (1, 2, 4, 8, 1, 2)
_DECODER_BLOCKS = 8


def _matrix(layer: str) -> str:
    """Return the name of a layer's 8-bit matrix in the model file."""
    return f"/{layer}/Transpose_output_0"


def _perceptron(block: str, suffix: str = "") -> tuple[str, str]:
    """Return the names of the two matrices of a ConvNeXt block."""
    return _matrix(f"{block}/pw1{suffix}"), _matrix(f"{block}/pw2{suffix}")


@dataclass(frozen=True, kw_only=True, slots=True)
class _TextEncoder:
    """Names of a text encoder's layers in the model file.

    blocks: the matrices of its two ConvNeXt blocks. attention: the matrices of its attention layer,
    which is applied `passes` times.
    """

    prefix: str
    blocks: tuple[tuple[str, str], ...]
    attention: tuple[str, str, str, str]
    passes: int


_CONTENT_ENCODER = _TextEncoder(
    prefix="m.text",
    blocks=(_perceptron("convs.0"), _perceptron("convs.1")),
    attention=(
        "/Transpose_2_output_0", _matrix("out_proj"), _matrix("linear1"), _matrix("linear2"),
    ),
    passes=4,
)  # fmt: skip
_PROSODY_ENCODER = _TextEncoder(
    prefix="pn.text",
    blocks=(_perceptron("convs.0", "_1"), _perceptron("convs.1", "_1")),
    attention=(
        "/Transpose_25_output_0", _matrix("out_proj_4"), _matrix("linear1_4"), _matrix("linear2_4"),
    ),
    passes=6,
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class SpectralFrames:
    """Speech as the sum of three parts: one frame every 12.5 ms, one bin every 20 Hz.

    The spectra have the shape (601, frames).
    harmonic, noise, residue: log magnitude in neper of the pulse train, of noise with random phase,
    and of the rest. harmonic_phase: y, where the pulse train's filter has the phase pi tanh(y).
    residue_phase: phase of the rest in rad. pitch_hz: shape (frames,), below 40 where unvoiced.
    Source: hibari-tts 0.2.1, dsp.py, which turns the frames into sound.
    """

    harmonic: Singles
    harmonic_phase: Singles
    noise: Singles
    residue: Singles
    residue_phase: Singles
    pitch_hz: Singles


@dataclass(frozen=True, kw_only=True, eq=False)
class NetworkOutput:
    """frames: the spectra. durations: of each symbol, in units of two frames (25 ms)."""

    frames: SpectralFrames
    durations: NDArray[np.int64]


class AcousticNetwork:
    """The model with its weights. Thread-safe: runs keep no state."""

    def __init__(self, content: bytes) -> None:
        """Read the content of the model file.

        Raises: ValueError, KeyError, IndexError or StopIteration if it is not this model.
        """
        self._layers = Layers(read_weights(content))

    def run(self, symbols: Sequence[int], speed: float) -> NetworkOutput:
        """Return the frames and durations of symbols; speed 1 is the model's own."""
        ids = np.asarray(symbols, np.int64)
        content = self._encoded(ids, _CONTENT_ENCODER)
        prosody = self._encoded(ids, _PROSODY_ENCODER)
        durations = self._durations(prosody, speed)
        symbol_of_step = np.repeat(np.arange(len(ids)), durations)
        pitch_hz, energy = self._pitch_and_energy(prosody[symbol_of_step])
        decoded = self._decoded(content[symbol_of_step], pitch_hz, energy)
        parts = self._spectra(decoded)
        return NetworkOutput(
            frames=SpectralFrames(
                harmonic=parts[0],
                harmonic_phase=parts[1],
                noise=parts[2],
                residue=parts[3],
                residue_phase=parts[4],
                pitch_hz=pitch_hz.astype(np.float32),
            ),
            durations=durations,
        )

    def _encoded(self, ids: NDArray[np.int64], encoder: _TextEncoder) -> FloatArray:
        """Return a text encoder's output, shape (symbols, channels)."""
        layers, prefix = self._layers, encoder.prefix
        x = layers.embedding(f"{prefix}.emb.weight", ids)
        for number, matrices in enumerate(encoder.blocks):
            x = layers.convnext(x, f"{prefix}.convs.{number}", matrices)
        for _ in range(encoder.passes):
            x = layers.attention(x, f"{prefix}.attn", encoder.attention)
        return layers.norm(x, f"{prefix}.norm")

    def _durations(self, prosody: FloatArray, speed: float) -> NDArray[np.int64]:
        """Return max(1, round((exp(y) - 1) / speed)) of each symbol."""
        hidden = gelu(self._layers.convolution(prosody, "pn.dur.0"))
        log_duration = self._layers.convolution(hidden, "pn.dur.2")[:, 0]
        durations = np.rint((np.exp(log_duration) - 1.0) / speed)
        return np.maximum(durations, 1.0).astype(np.int64)

    def _pitch_and_energy(self, prosody: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the pitch in Hz and the energy of each frame, two frames for each row."""
        x = self._layers.convolution(prosody, "pn.pro_in")
        for block, dilation in enumerate(_PROSODY_DILATIONS):
            x = self._layers.convnext(x, f"pn.pro.{block}", _perceptron(f"pro.{block}"), dilation)
        x = self._layers.convolution(x, "pn.pro_out")  # pitch, pitch, energy, energy
        return x[:, :2].reshape(-1) * 100.0, x[:, 2:].reshape(-1) * 5.0

    def _decoded(self, content: FloatArray, pitch_hz: FloatArray, energy: FloatArray) -> FloatArray:
        """Return the decoder's output, shape (frames, channels).

        Its inputs are the encoded text, log(1 + pitch) / 5 and energy / 5.
        """
        log_pitch = np.log(1 + np.maximum(pitch_hz, 0)) / 5.0
        inputs = (np.repeat(content, 2, axis=0), log_pitch[:, None], (energy / 5.0)[:, None])
        x = self._layers.convolution(np.concatenate(inputs, axis=1), "m.dec_in")
        for block in range(_DECODER_BLOCKS):
            x = self._layers.convnext(x, f"m.dec.{block}", _perceptron(f"dec.{block}"))
        return self._layers.norm(x, "m.dec_norm")

    def _spectra(self, decoded: FloatArray) -> list[Singles]:
        """Return the five spectra of the output layer, shape (601, frames) each."""
        spectra = self._layers.linear(decoded, _matrix("head"), "m.head.bias")
        return [part.T.astype(np.float32) for part in np.split(spectra, 5, axis=1)]
