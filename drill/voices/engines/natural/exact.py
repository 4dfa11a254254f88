"""A neural voice model run so that every machine gets the same numbers.

The model's own runtime gives other sound on other processors: the model scales its activations to
8 bits as it runs, so that a last bit that differs moves a whole step, and some processors saturate
in between. Here all is done in double precision by the reference evaluator of ONNX, the integers
too (doubles hold them exactly). What is left of the processor is 1e-13 of a step. It takes twenty
times as long as the runtime and is still several times quicker than speech.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Doubles = NDArray[np.float64]


class ExactModel:
    """An ONNX model in double precision. Safe in several threads: a run keeps no state."""

    def __init__(self, raw: bytes) -> None:
        """Read a model file's content. Raises: whatever onnx raises where it is none."""
        import onnx
        from onnx.reference import ReferenceEvaluator

        model = onnx.load_model_from_string(raw)
        _widen(model.graph)
        self._evaluator = ReferenceEvaluator(model, new_ops=_operators())

    def run(self, outputs: Sequence[str], inputs: Mapping[str, Any]) -> list[Doubles]:
        """Return values of the graph by name; any value can be asked for, outputs or not."""
        return list(self._evaluator.run(list(outputs), dict(inputs)))


def _widen(graph: Any) -> None:
    """Turn every single-precision constant and conversion of a graph into double precision."""
    from onnx import TensorProto, numpy_helper

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


def _operators() -> list[type]:
    """Return the integer operators in doubles: the linear algebra library is quick with these.

    Source: ONNX operator specifications DynamicQuantizeLinear-11 and MatMulInteger-10.
    """
    from onnx.reference.op_run import OpRun

    class DynamicQuantizeLinear(OpRun):
        op_domain = ""

        def _run(self, x: Doubles) -> tuple[Doubles, np.float64, np.float64]:
            low, high = min(0.0, float(x.min())), max(0.0, float(x.max()))
            scale = (high - low) / 255 or 1.0
            zero = np.clip(np.rint(-low / scale), 0, 255)
            steps = np.clip(np.rint(x / scale) + zero, 0, 255)
            return steps, np.float64(scale), np.float64(zero)

    class MatMulInteger(OpRun):
        op_domain = ""

        def _run(
            self,
            a: Doubles,
            b: Doubles,
            a_zero_point: Any = 0,
            b_zero_point: Any = 0,
        ) -> tuple[Doubles]:
            left = a.astype(np.float64) - np.asarray(a_zero_point, np.float64)
            right = b.astype(np.float64) - np.asarray(b_zero_point, np.float64)
            return (np.matmul(left, right),)

    return [DynamicQuantizeLinear, MatMulInteger]
