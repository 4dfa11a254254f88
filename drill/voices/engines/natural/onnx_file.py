"""Reads the weights of an ONNX model file without the package onnx.

An ONNX file is a Protocol Buffers message: ModelProto field 7 is the graph, whose fields 5 are the
TensorProto of the weights. Only the parts that the model of hibari-tts uses are read.
Source: ONNX IR specification, onnx.proto3; Protocol Buffers, Encoding.
"""

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

_MODEL_GRAPH, _GRAPH_WEIGHTS = 7, 5
_DIMS, _DATA_TYPE, _FLOAT_DATA, _INT32_DATA, _NAME, _RAW_DATA = 1, 2, 4, 5, 8, 9
_DATA_TYPES = {1: "<f4", 2: "u1", 3: "i1", 7: "<i8"}  # TensorProto.DataType


def read_weights(content: bytes) -> Mapping[str, NDArray[Any]]:
    """Return the weights of a model file by name, each in its own shape and number type.

    Raises: ValueError, IndexError, KeyError or StopIteration if content is not such a file.
    """
    graph = next(value for field, value in _fields(memoryview(content)) if field == _MODEL_GRAPH)
    return dict(_tensor(value) for field, value in _fields(graph) if field == _GRAPH_WEIGHTS)


def _tensor(message: memoryview) -> tuple[str, NDArray[Any]]:
    """Return the name and the content of a TensorProto."""
    shape: list[int] = []
    name, data_type, data = "", "", b""
    for field, value in _fields(message):
        if field == _DIMS:
            shape += [value] if isinstance(value, int) else _packed_integers(value)
        elif field == _DATA_TYPE:
            data_type = _DATA_TYPES[value]
        elif field == _NAME:
            name = bytes(value).decode()
        elif field in (_FLOAT_DATA, _RAW_DATA):  # both are the little-endian bytes of the numbers
            data = value
        elif field == _INT32_DATA:  # zero points; the data type is written before them
            data = np.asarray(_packed_integers(value), data_type).tobytes()
    return name, np.frombuffer(data, data_type).reshape(shape)


def _fields(message: memoryview) -> Iterator[tuple[int, Any]]:
    """Yield number and value of each field: an int, or the bytes if the field has a length."""
    position = 0
    while position < len(message):
        tag, position = _varint(message, position)
        wire_type = tag & 7
        if wire_type == 0:
            value, position = _varint(message, position)
            yield tag >> 3, value
            continue
        if wire_type == 2:
            size, position = _varint(message, position)
        elif wire_type in (1, 5):
            size = 8 if wire_type == 1 else 4
        else:
            raise ValueError(f"not an ONNX file: Protocol Buffers wire type {wire_type}")
        yield tag >> 3, message[position : position + size]
        position += size


def _packed_integers(message: memoryview) -> list[int]:
    integers, position = [], 0
    while position < len(message):
        value, position = _varint(message, position)
        integers.append(value)
    return integers


def _varint(message: memoryview, position: int) -> tuple[int, int]:
    """Return the integer at a position, 7 bits a byte, and the position after it."""
    value = shift = 0
    while True:
        byte = message[position]
        position += 1
        value |= (byte & 0x7F) << shift
        if byte < 0x80:
            return value, position
        shift += 7
