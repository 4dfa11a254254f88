"""From averaged weights to the product's model.onnx, 8 bits, with its vocabulary inside."""

import tempfile
from collections.abc import Sequence
from pathlib import Path

import onnx
import torch
from torch import Tensor, nn

from drill.recogniser.own.front_end import BANDS
from tests.tools.train_recogniser.config import NetworkConfig
from tests.tools.train_recogniser.network import Network
from tests.tools.train_recogniser.vocabulary import vocabulary

OPSET = 17


class _WithLogSoftmax(nn.Module):
    """The network with log probabilities as outputs, and its last hidden layer."""

    def __init__(self, network: Network) -> None:
        super().__init__()
        self.network = network

    def forward(self, features: Tensor) -> tuple[Tensor, Tensor, Tensor]:
        words, phonemes, hidden = self.network.with_hidden(features)
        return words.log_softmax(-1), phonemes.log_softmax(-1), hidden


def load_network(path: Path) -> Network:
    """Return the network with the averaged weights of a file average.pt."""
    state = torch.load(path, map_location="cpu", weights_only=True)
    known = vocabulary()
    sizes = NetworkConfig(**state["config"]["network"])
    network = Network(len(known.tokens), len(known.phonemes), sizes)
    network.load_state_dict({name: value.float() for name, value in state["average"].items()})
    return network.eval()


def write_mean(weights: Sequence[Path], target: Path) -> None:
    """Write the mean of several average.pt files from runs that began with the same weights."""
    states = [torch.load(path, map_location="cpu", weights_only=True) for path in weights]
    parts = [state["average"] for state in states]
    mean = {
        name: torch.stack([part[name].float() for part in parts]).mean(0).half()
        for name in parts[0]
    }
    torch.save({**states[0], "average": mean}, target)


def export(weights: Path, target: Path, *, quantised: bool = True) -> None:
    """Write the model of a file average.pt.

    quantised: store the matrices in 8 bits, a quarter of the size.
    """
    module = _WithLogSoftmax(load_network(weights)).eval()
    axes = {"features": {0: "items", 1: "frames"}, "words": {0: "items", 1: "coarse"},
            "phonemes": {0: "items", 1: "fine"}, "hidden": {0: "items", 1: "coarse"}}  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        plain = Path(folder) / "plain.onnx"
        torch.onnx.export(
            module, (torch.randn(1, 300, BANDS),), str(plain), input_names=["features"],
            output_names=["words", "phonemes", "hidden"], dynamic_axes=axes, opset_version=OPSET,
            dynamo=False,
        )  # fmt: skip
        if quantised:
            from onnxruntime.quantization import QuantType, quantize_dynamic

            quantize_dynamic(
                str(plain), str(target), weight_type=QuantType.QInt8,
                op_types_to_quantize=["MatMul", "Gemm"],
            )  # fmt: skip
        else:
            target.write_bytes(plain.read_bytes())
    model = onnx.load(str(target))
    entry = model.metadata_props.add()
    entry.key, entry.value = "vocabulary", vocabulary().to_json()
    onnx.save(model, str(target))
