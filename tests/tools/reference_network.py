"""The natural voice's model run by ONNX's reference evaluator in double precision.

It is the independent reference for drill.voices.engines.natural.network: slow, and written by
others.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from onnx import TensorProto, load_model_from_string, numpy_helper
from onnx.reference import ReferenceEvaluator
from onnx.reference.op_run import OpRun

Doubles = NDArray[np.float64]


class ReferenceNetwork:
    """An ONNX model in double precision."""

    def __init__(self, content: bytes) -> None:
        """Read the content of a model file."""
        model = load_model_from_string(content)
        _widen(model.graph)
        operators: list[type] = [DynamicQuantizeLinear, MatMulInteger]
        self._evaluator = ReferenceEvaluator(model, new_ops=operators)

    def run(self, outputs: Sequence[str], inputs: Mapping[str, Any]) -> list[Doubles]:
        """Return values of the graph by name, including values that are not outputs."""
        return list(self._evaluator.run(list(outputs), dict(inputs)))


def _widen(graph: Any) -> None:
    """Turn every single-precision constant and conversion of a graph into double precision."""

    def widen(tensor: Any) -> None:
        if tensor.data_type == TensorProto.FLOAT:
            wide = numpy_helper.to_array(tensor).astype(np.float64)
            tensor.CopyFrom(numpy_helper.from_array(wide, tensor.name))

    for tensor in graph.initializer:
        widen(tensor)
    for node in graph.node:
        for attribute in node.attribute:
            if attribute.name == "value":
                widen(attribute.t)
            elif node.op_type == "Cast" and attribute.i == TensorProto.FLOAT:
                attribute.i = TensorProto.DOUBLE


class DynamicQuantizeLinear(OpRun):
    """The operator in double precision. Source: ONNX operator DynamicQuantizeLinear-11."""

    op_domain = ""

    def _run(self, x: Doubles) -> tuple[Doubles, np.float64, np.float64]:
        low, high = min(0.0, float(x.min())), max(0.0, float(x.max()))
        scale = (high - low) / 255 or 1.0
        zero_point = np.clip(np.rint(-low / scale), 0, 255)
        levels = np.clip(np.rint(x / scale) + zero_point, 0, 255)
        return levels, np.float64(scale), np.float64(zero_point)


class MatMulInteger(OpRun):
    """The operator in double precision, which represents its integers exactly.

    Source: ONNX operator MatMulInteger-10.
    """

    op_domain = ""

    def _run(
        self, a: Doubles, b: Doubles, a_zero_point: Any = 0, b_zero_point: Any = 0
    ) -> tuple[Doubles]:
        left = a.astype(np.float64) - np.asarray(a_zero_point, np.float64)
        right = b.astype(np.float64) - np.asarray(b_zero_point, np.float64)
        return (np.matmul(left, right),)
