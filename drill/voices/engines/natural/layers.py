"""Layers of the natural voice's model. Activations have the shape (time, channels).

Blocks are those of ConvNeXt: a depthwise convolution over time, layer normalisation and a
two-layer perceptron, added to the input. Source: Liu et al., A ConvNet for the 2020s, 2022.
The attention layer is a pre-norm transformer encoder layer with two heads.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import FloatArray
from drill.voices.engines.natural.quantised import (
    Quantised,
    linear,
    linear_gelu,
    quantise,
    quantised_weights,
)

_HEADS = 2
_EPSILON = 9.999999747378752e-06  # 1e-5 rounded to single precision, as in the model


class Layers:
    """The layers by the names of their weights. Thread-safe: calls keep no state."""

    def __init__(self, weights: Mapping[str, NDArray[Any]]) -> None:
        """Take the weights of the model file.

        Raises: ValueError if 8-bit products would not be exact; KeyError if a scale is missing.
        """
        self._floats = {
            name: array.astype(np.float64)
            for name, array in weights.items()
            if array.dtype == np.float32
        }
        self._quantised = {
            name: quantised_weights(
                weights[f"{name}_quantized"],
                int(weights[f"{name}_zero_point"].ravel()[0]),
                float(weights[f"{name}_scale"].ravel()[0]),
            )
            for name in (key.removesuffix("_quantized") for key in weights)
            if f"{name}_quantized" in weights
        }

    def embedding(self, name: str, symbols: NDArray[np.int64]) -> FloatArray:
        """Return the vector of each symbol."""
        return self._floats[name][symbols]

    def linear(self, x: FloatArray, matrix: str, bias: str) -> FloatArray:
        """Return x W + b, x rounded to 8 bits."""
        return linear(quantise(x), self._quantised[matrix], self._floats[bias])

    def norm(self, x: FloatArray, name: str) -> FloatArray:
        """Return (x - mean) / sqrt(variance + epsilon) * weight + bias, over the channels."""
        x = x - x.mean(-1, keepdims=True)
        x /= np.sqrt(np.mean(x * x, -1, keepdims=True) + _EPSILON)
        x *= self._floats[f"{name}.weight"]
        x += self._floats[f"{name}.bias"]
        return x

    def convolution(self, x: FloatArray, name: str) -> FloatArray:
        """Return the convolution over time across all channels, as long as x.

        Each row of the matrix product holds the input of all taps of one time.
        """
        kernel = self._floats[f"{name}.weight"]  # (outputs, channels, taps)
        taps = kernel.shape[2]
        if taps > 1:
            padded = np.pad(x, ((taps // 2, taps // 2), (0, 0)))
            x = np.concatenate([padded[tap : tap + len(x)] for tap in range(taps)], axis=1)
        matrix = np.ascontiguousarray(kernel.transpose(2, 1, 0).reshape(-1, len(kernel)))
        return np.asarray(x @ matrix + self._floats[f"{name}.bias"])

    def convnext(
        self, x: FloatArray, name: str, matrices: tuple[str, str], dilation: int = 1
    ) -> FloatArray:
        """Return x + gamma * perceptron(norm(depthwise(x))); matrices: of the perceptron."""
        y = self.norm(self._depthwise(x, f"{name}.dw", dilation), f"{name}.norm")
        y = self._perceptron(y, matrices, (f"{name}.pw1.bias", f"{name}.pw2.bias"))
        y *= self._floats[f"{name}.gamma"]
        y += x
        return y

    def attention(
        self, x: FloatArray, name: str, matrices: tuple[str, str, str, str]
    ) -> FloatArray:
        """Return x after self-attention and a perceptron, each added to its input.

        matrices: of the projection to query, key and value, of the output, and of the perceptron.
        """
        projection, output, *perceptron = matrices
        y = self.linear(self.norm(x, f"{name}.norm1"), projection, f"{name}.self_attn.in_proj_bias")
        x = x + self.linear(_attend(y), output, f"{name}.self_attn.out_proj.bias")
        y = self.norm(x, f"{name}.norm2")
        biases = (f"{name}.linear1.bias", f"{name}.linear2.bias")
        return x + self._perceptron(y, (perceptron[0], perceptron[1]), biases)

    def _perceptron(
        self, x: FloatArray, matrices: tuple[str, str], biases: tuple[str, str]
    ) -> FloatArray:
        """Return gelu(x W1 + b1) W2 + b2, all activations rounded to 8 bits."""
        first, second = (self._quantised[name] for name in matrices)
        hidden: Quantised = linear_gelu(quantise(x), first, self._floats[biases[0]])
        return linear(hidden, second, self._floats[biases[1]])

    def _depthwise(self, x: FloatArray, name: str, dilation: int) -> FloatArray:
        """Return the convolution of each channel over time, as long as x."""
        kernel = self._floats[f"{name}.weight"][:, 0]  # (channels, taps)
        taps = kernel.shape[1]
        padding = taps // 2 * dilation
        padded = np.pad(x, ((padding, padding), (0, 0)))
        y = padded[: len(x)] * kernel[:, 0]
        for tap in range(1, taps):
            y += padded[tap * dilation : tap * dilation + len(x)] * kernel[:, tap]
        y += self._floats[f"{name}.bias"]
        return y


def _attend(projected: FloatArray) -> FloatArray:
    """Return softmax(Q K' / sqrt(d)) V of each head; projected: Q, K and V side by side."""
    length, width = projected.shape
    channels = width // 3
    size = channels // _HEADS
    query, key, value = (
        part.reshape(length, _HEADS, size).transpose(1, 0, 2)
        for part in np.split(projected, 3, axis=1)
    )
    scores = query @ key.transpose(0, 2, 1)
    scores /= size**0.5
    scores -= scores.max(-1, keepdims=True)
    np.exp(scores, out=scores)
    scores /= scores.sum(-1, keepdims=True)
    return np.ascontiguousarray((scores @ value).transpose(1, 0, 2)).reshape(length, channels)
