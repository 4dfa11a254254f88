"""The network: from features to log probabilities of words and phonemes, by onnxruntime.

It runs in one thread, so that sums keep their order and the same sound always gives the same words
on one computer.
"""

import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import NoRecogniser
from drill.recogniser.own.front_end import Features
from drill.recogniser.own.vocabulary import Vocabulary

WORD_FRAME_S = 0.04
PHONEME_FRAME_S = 0.02
MODEL_FILE = "model.onnx"
HIDDEN = "hidden"
"""Name of the output that is the input of the word layer."""

LogProbabilities = NDArray[np.float32]
HiddenLayer = NDArray[np.float32]


@dataclass(frozen=True, kw_only=True, eq=False)
class Posteriors:
    """Natural logarithms of probabilities; column 0 is CTC's blank.

    words: (frames of 40 ms, tokens + 1). phonemes: (frames of 20 ms, phonemes + 1).
    """

    words: LogProbabilities
    phonemes: LogProbabilities


class AcousticModel:
    """A model file with its vocabulary. Thread-safe."""

    def __init__(self, content: bytes) -> None:
        """Start the network.

        Raises: NoRecogniser if onnxruntime is missing or rejects the model.
        """
        try:
            import onnxruntime
        except ImportError:
            raise NoRecogniser(
                "the recogniser 'own' needs onnxruntime; install faintcall again"
            ) from None
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.log_severity_level = 3
        try:
            self._session: Any = onnxruntime.InferenceSession(
                content, options, providers=["CPUExecutionProvider"]
            )
            entries = self._session.get_modelmeta().custom_metadata_map
            self.vocabulary = Vocabulary.from_json(entries["vocabulary"])
        except Exception as error:  # onnxruntime's errors have no common base
            raise NoRecogniser(f"the recogniser's model does not start: {error}") from None
        self.digest = hashlib.sha256(content).hexdigest()

    def run(self, features: Features) -> Posteriors:
        """Return the posteriors of features, shape (frames, BANDS), at least one frame."""
        words, phonemes = self._session.run(["words", "phonemes"], {"features": features[None]})
        return Posteriors(words=words[0], phonemes=phonemes[0])

    def run_with_hidden(self, features: Features) -> tuple[Posteriors, HiddenLayer]:
        """Return the posteriors and the input of the word layer, shape (frames of 40 ms, width).

        Raises: NoRecogniser if the model does not give that layer.
        """
        if HIDDEN not in {output.name for output in self._session.get_outputs()}:
            raise NoRecogniser(
                "the recogniser's model cannot learn voices; install faintcall again"
            )
        words, phonemes, hidden = self._session.run(
            ["words", "phonemes", HIDDEN], {"features": features[None]}
        )
        return Posteriors(words=words[0], phonemes=phonemes[0]), hidden[0]


@cache
def load_model() -> AcousticModel:
    """Return the bundled model. Raises: NoRecogniser if it cannot be read or started."""
    path = files("drill.recogniser.own") / MODEL_FILE
    try:
        content = path.read_bytes()
    except OSError as error:
        raise NoRecogniser(f"the recogniser's model cannot be read: {error}") from None
    return AcousticModel(content)
