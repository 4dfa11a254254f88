"""The network: convolutions and Conformer blocks, with phonemes and words as CTC outputs.

Sources: A. Gulati et al., Conformer: Convolution-augmented Transformer for Speech Recognition,
Interspeech 2020; A. Graves et al., Connectionist Temporal Classification, ICML 2006.
"""

import math

import torch
from torch import Tensor, nn
from torch.nn import functional

from drill.recogniser.own.front_end import BANDS
from tests.tools.train_recogniser.config import NetworkConfig

HEADS = 4
KERNEL = 15
EXPANSION = 2


class FeedForward(nn.Module):
    """Two linear layers behind a layer norm."""

    def __init__(self, width: int, dropout: float) -> None:
        super().__init__()
        self.norm = nn.LayerNorm(width)
        self.widen = nn.Linear(width, width * EXPANSION)
        self.narrow = nn.Linear(width * EXPANSION, width)
        self.dropout = nn.Dropout(dropout)

    def forward(self, x: Tensor) -> Tensor:
        """Return what is added to x (batch, time, width)."""
        return self.dropout(self.narrow(self.dropout(functional.silu(self.widen(self.norm(x))))))


class Attention(nn.Module):
    """Self-attention over the whole clip; the convolutions supply the order of the frames."""

    def __init__(self, width: int, dropout: float) -> None:
        super().__init__()
        self.norm = nn.LayerNorm(width)
        self.queries_keys_values = nn.Linear(width, 3 * width)
        self.out = nn.Linear(width, width)
        self.dropout = nn.Dropout(dropout)

    def forward(self, x: Tensor) -> Tensor:
        """Return what is added to x (batch, time, width)."""
        batch, time, width = x.shape
        joined = self.queries_keys_values(self.norm(x))
        joined = joined.reshape(batch, time, 3, HEADS, width // HEADS).permute(2, 0, 3, 1, 4)
        q, k, v = joined[0], joined[1], joined[2]
        if torch.onnx.is_in_onnx_export():
            mixed = torch.softmax(q @ k.transpose(-1, -2) / math.sqrt(width // HEADS), -1) @ v
        else:
            mixed = functional.scaled_dot_product_attention(q, k, v)
        return self.dropout(self.out(mixed.transpose(1, 2).reshape(batch, time, width)))


class Convolution(nn.Module):
    """Gated depthwise convolution over time with layer norm, which does not depend on the batch."""

    def __init__(self, width: int, dropout: float) -> None:
        super().__init__()
        self.norm = nn.LayerNorm(width)
        self.gate = nn.Linear(width, 2 * width)
        self.depthwise = nn.Conv1d(width, width, KERNEL, padding=KERNEL // 2, groups=width)
        self.inner_norm = nn.LayerNorm(width)
        self.out = nn.Linear(width, width)
        self.dropout = nn.Dropout(dropout)

    def forward(self, x: Tensor) -> Tensor:
        """Return what is added to x (batch, time, width)."""
        value, gate = self.gate(self.norm(x)).chunk(2, -1)
        y = self.depthwise((value * torch.sigmoid(gate)).transpose(1, 2)).transpose(1, 2)
        return self.dropout(self.out(functional.silu(self.inner_norm(y))))


class ConformerBlock(nn.Module):
    """Half a feed-forward layer, attention, convolution, half a feed-forward layer."""

    def __init__(self, width: int, dropout: float) -> None:
        super().__init__()
        self.before = FeedForward(width, dropout)
        self.attention = Attention(width, dropout)
        self.convolution = Convolution(width, dropout)
        self.after = FeedForward(width, dropout)
        self.norm = nn.LayerNorm(width)

    def forward(self, x: Tensor) -> Tensor:
        """Return x (batch, time, width) after the block."""
        x = x + 0.5 * self.before(x)
        x = x + self.attention(x)
        x = x + self.convolution(x)
        x = x + 0.5 * self.after(x)
        return self.norm(x)


class Network(nn.Module):
    """From features (batch, frames of 10 ms, BANDS) to logits of words and phonemes.

    Words: (batch, frames of 40 ms, words + 1). Phonemes: (batch, frames of 20 ms, phonemes + 1).
    Output 0 is CTC's blank.
    """

    def __init__(self, words: int, phonemes: int, config: NetworkConfig) -> None:
        super().__init__()
        fine, coarse, dropout = config.width_fine, config.width_coarse, config.dropout
        self.first = nn.Conv2d(1, 32, 3, stride=2, padding=1)
        self.second = nn.Conv2d(32, 48, 3, stride=(1, 2), padding=1)
        self.project = nn.Linear(48 * (BANDS // 4), fine)
        self.dropout = nn.Dropout(dropout)
        self.fine = nn.ModuleList(ConformerBlock(fine, dropout) for _ in range(config.blocks_fine))
        self.phonemes = nn.Linear(fine, phonemes + 1)
        self.down = nn.Conv1d(fine, coarse, 3, stride=2, padding=1)
        self.coarse = nn.ModuleList(
            ConformerBlock(coarse, dropout) for _ in range(config.blocks_coarse)
        )
        self.words = nn.Linear(coarse, words + 1)

    def forward(self, features: Tensor) -> tuple[Tensor, Tensor]:
        """Return logits of words and of phonemes."""
        words, phonemes, _ = self.with_hidden(features)
        return words, phonemes

    def with_hidden(self, features: Tensor) -> tuple[Tensor, Tensor, Tensor]:
        """Return logits of words and of phonemes, and the input of the output layer for words.

        The last has the shape (batch, frames of 40 ms, width_coarse).
        """
        y = functional.silu(self.first(features.unsqueeze(1)))
        y = functional.silu(self.second(y))
        batch, channels, time, bands = y.shape
        y = self.dropout(self.project(y.permute(0, 2, 1, 3).reshape(batch, time, channels * bands)))
        for block in self.fine:
            y = block(y)
        z = self.down(y.transpose(1, 2)).transpose(1, 2)
        for block in self.coarse:
            z = block(z)
        return self.words(z), self.phonemes(y), z
