"""Random numbers for each item of a batch, shape (batch, 1), on one device."""

import math

import torch
from torch import Tensor


class Draws:
    """Draws for batches of a fixed size."""

    def __init__(self, batch: int, device: torch.device) -> None:
        """Remember the size."""
        self.batch, self.device = batch, device

    def even(self, low: float, high: float) -> Tensor:
        """Return values drawn evenly from low to high."""
        return torch.rand(self.batch, 1, device=self.device) * (high - low) + low

    def even_log(self, low: float, high: float) -> Tensor:
        """Return values whose logarithm is drawn evenly."""
        return torch.exp(self.even(math.log(low), math.log(high)))

    def normal(self, spread: float) -> Tensor:
        """Return Gaussian values around 0."""
        return torch.randn(self.batch, 1, device=self.device) * spread

    def chance(self, share: float) -> Tensor:
        """Return True for a share of the items, drawn independently."""
        return torch.rand(self.batch, 1, device=self.device) < share

    def sign(self) -> Tensor:
        """Return 1 or -1."""
        return torch.where(self.chance(0.5), 1.0, -1.0)

    def some(self, share: float) -> Tensor:
        """Return the indices of a random share of the items, a fixed number of them."""
        count = round(share * self.batch)
        return torch.randperm(self.batch, device=self.device)[:count]

    def of(self, count: int) -> "Draws":
        """Return draws for another number of items."""
        return Draws(count, self.device)
