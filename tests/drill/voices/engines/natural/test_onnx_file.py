"""The reader of ONNX files, compared with the package onnx."""

import numpy as np
import onnx
import pytest
from onnx import TensorProto, helper, numpy_helper

from drill.voices.engines.natural.model import natural_model_content
from drill.voices.engines.natural.onnx_file import read_weights


def test_every_weight_of_the_model_is_read_as_onnx_reads_it() -> None:
    model = onnx.load_model_from_string(natural_model_content())
    weights = read_weights(natural_model_content())
    assert len(weights) == len(model.graph.initializer)
    for tensor in model.graph.initializer:
        assert np.array_equal(weights[tensor.name], numpy_helper.to_array(tensor)), tensor.name


def test_numbers_are_read_in_each_way_that_they_are_stored() -> None:
    tensors = [
        numpy_helper.from_array(np.arange(6, dtype=np.float32).reshape(2, 3), "raw"),
        helper.make_tensor("floats", TensorProto.FLOAT, [2], [1.5, -2.0]),
        helper.make_tensor("bytes", TensorProto.UINT8, [2], [7, 200]),
        helper.make_tensor("scalar", TensorProto.FLOAT, [], [3.0]),
    ]
    content = helper.make_model(helper.make_graph([], "g", [], [], tensors)).SerializeToString()
    weights = read_weights(content)
    for tensor in tensors:
        expected = numpy_helper.to_array(tensor)
        assert np.array_equal(weights[tensor.name], expected)
        assert weights[tensor.name].shape == expected.shape


@pytest.mark.parametrize(
    "content", [b"", b"\x0f", b"something else"], ids=["empty", "wire", "text"]
)
def test_another_file_is_an_error(content: bytes) -> None:
    with pytest.raises((ValueError, IndexError, KeyError, StopIteration)):
        read_weights(content)
