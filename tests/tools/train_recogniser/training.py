"""The training loop: seeded, resumable, on one GPU, several (torchrun), or the processor."""

import copy
import hashlib
import json
import logging
import math
import os
import time
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import torch
from torch import Tensor, nn
from torch.nn import functional

from drill.recogniser.own.front_end import RATE_HZ
from tests.tools.train_recogniser.augmentation import Augmentation
from tests.tools.train_recogniser.batches import Layout, gather, layouts
from tests.tools.train_recogniser.config import RunConfig, TrainingConfig
from tests.tools.train_recogniser.device_bank import DeviceBank
from tests.tools.train_recogniser.network import Network
from tests.tools.train_recogniser.vocabulary import vocabulary

LOG = logging.getLogger(__name__)
WORD_SCALE, PHONEME_SCALE = 5.0, 20.0
"""About the number of tokens in an item; dividing by it makes the loss about that of one token."""
LONGEST_GRADIENT = 2.0
REPORT_STEPS = 100


@dataclass(frozen=True, slots=True)
class Rank:
    """The rank of this process among those of the run."""

    number: int
    count: int
    device: torch.device

    @classmethod
    def from_environment(cls) -> "Rank":
        """Return the rank that torchrun assigned, else rank 0; join the process group."""
        count = int(os.environ.get("WORLD_SIZE", "1"))
        local = int(os.environ.get("LOCAL_RANK", "0"))
        device = torch.device(f"cuda:{local}" if torch.cuda.is_available() else "cpu")
        if count > 1:
            backend = "nccl" if device.type == "cuda" else "gloo"
            torch.distributed.init_process_group(backend)
        if device.type == "cuda":
            torch.cuda.set_device(device)
        return cls(int(os.environ.get("RANK", "0")), count, device)


def learning_rate(config: TrainingConfig, share: float) -> float:
    """Return the rate after a share of the run: a linear rise, then half a cosine down to 0."""
    rise = min(1.0, share / config.warmup_share) if config.warmup_share else 1.0
    return config.learning_rate * rise * (0.5 + 0.5 * math.cos(math.pi * min(1.0, share))) + 1e-6


def early_snr_db(config: TrainingConfig, share: float) -> float:
    """Return by how many decibels SNRs are raised after a share of the run."""
    if not config.early_share:
        return 0.0
    return config.early_snr_db * max(0.0, 1 - share / config.early_share)


def ctc_loss(logits: Tensor, labels: Tensor, counts: Tensor) -> Tensor:
    """Return the mean CTC loss of logits (batch, time, outputs)."""
    log_probabilities = logits.float().log_softmax(-1).transpose(0, 1)
    lengths = torch.full((logits.shape[0],), logits.shape[1])
    loss = functional.ctc_loss(
        log_probabilities, labels, lengths, counts, reduction="none", zero_infinity=True
    )
    return loss.mean()


def file_digest(path: Path) -> str:
    """Return the SHA-256 of a file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


class Trainer:
    """One run. The averaged weights (exponential moving average) are the model."""

    def __init__(
        self, config: RunConfig, bank: Path, folder: Path, start_from: Path | None = None
    ) -> None:
        """Build the network, or continue from the checkpoint in the folder.

        start_from: average.pt of an earlier run of the same sizes, to start a new run from.
        """
        self._config, self._folder, self._rank = config, folder, Rank.from_environment()
        device, training = self._rank.device, config.training
        torch.manual_seed(training.seed)
        torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
        known = vocabulary()
        self.network = Network(len(known.tokens), len(known.phonemes), config.network).to(device)
        self.average = copy.deepcopy(self.network).eval().requires_grad_(False)
        self._optimiser = torch.optim.AdamW(
            self.network.parameters(), lr=training.learning_rate, betas=(0.9, 0.98),
            weight_decay=training.weight_decay, fused=device.type == "cuda",
        )  # fmt: skip
        self.step, self.steps = 0, training.steps
        self._share = 0.0
        self._about_start = "" if start_from is None else file_digest(start_from)
        if start_from is not None:
            weights = torch.load(start_from, map_location=device, weights_only=True)["average"]
            for network in (self.network, self.average):
                network.load_state_dict({name: value.float() for name, value in weights.items()})
        self._load()
        torch.manual_seed(training.seed * 1000 + self._rank.number + 7919 * self.step)
        self._samples = round(training.seconds * RATE_HZ)
        self._augmentation = Augmentation(config.augmentation, self._samples, device)
        self._forward: nn.Module | Any = self.network
        if self._rank.count > 1:
            self._forward = nn.parallel.DistributedDataParallel(self.network)
        if training.compile and device.type == "cuda":
            self._forward = torch.compile(self._forward)
        self.bank = DeviceBank(bank, device)

    def run(self, limit_s: float = math.inf, finish_in_s: float | None = None) -> bool:
        """Train until the last step or the time limit; return True when the run is complete.

        finish_in_s: the run ends this long after its first step, whatever the number of steps, and
        the learning rate follows the clock. Such a run is not repeatable to the bit.
        """
        training, began = self._config.training, time.monotonic()
        saved, losses, first_s = began, [], 0.0
        source = layouts(
            self.bank, seed=training.seed * 1000 + self._rank.number, first=self.step,
            batch=training.batch, samples=self._samples, mix=training.mix,
            speed=self._config.augmentation.speed, long_silences=training.long_silences,
            refresh_s=training.refresh_s,
        )  # fmt: skip
        weights = sum(parameter.numel() for parameter in self.network.parameters())
        LOG.info("weights %d bank %s", weights, self.bank.speech.hours())
        while self._share < 1 and time.monotonic() - began < limit_s:
            losses.append(self._one_step(*next(source)))
            seconds = time.monotonic() - began
            if finish_in_s is None:
                self._share = self.step / self.steps
            elif first_s:
                self._share = (seconds - first_s) / finish_in_s
            else:
                float(losses[-1][0])  # wait for the compiler and the device
                first_s = time.monotonic() - began
            if self.step % REPORT_STEPS == 0 or self.step in (1, 5, 20):
                self._report(losses, seconds)
                losses = []
            if time.monotonic() - saved > training.save_s:
                saved = time.monotonic()
                self.save()
        if self._share >= 1:
            self.steps = self.step
        self.save()
        LOG.info("stopped at step %d, bank %s", self.step, self.bank.speech.hours())
        return self._share >= 1

    def _report(self, losses: list[Tensor], seconds: float) -> None:
        mean = torch.stack(losses).mean(0).tolist()
        LOG.info("step %d seconds %.0f words %.3f phonemes %.3f", self.step, seconds, *mean)
        if not all(map(math.isfinite, mean)):
            raise FloatingPointError(f"the loss is not finite at step {self.step}")

    def _one_step(self, samples: Tensor, layout: Layout) -> Tensor:
        """Update the weights once; return the losses of words and of phonemes."""
        training, device = self._config.training, self._rank.device
        sound = gather(samples, layout, self._samples)
        speeds = torch.from_numpy(layout.speeds).to(device)[:, None]
        features = self._augmentation(sound, speeds, early_snr_db(training, self._share))
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            words, phonemes = self._forward(features)
        labels = [torch.from_numpy(row).to(device) for row in (layout.tokens, layout.phonemes)]
        counts = [torch.from_numpy(row) for row in (layout.token_counts, layout.phoneme_counts)]
        word_loss = ctc_loss(words, labels[0], counts[0]) / WORD_SCALE
        phoneme_loss = ctc_loss(phonemes, labels[1], counts[1]) / PHONEME_SCALE
        for group in self._optimiser.param_groups:
            group["lr"] = learning_rate(training, self._share)
        self._optimiser.zero_grad(set_to_none=True)
        (word_loss + training.phoneme_weight * phoneme_loss).backward()
        nn.utils.clip_grad_norm_(self.network.parameters(), LONGEST_GRADIENT)
        self._optimiser.step()
        self.step += 1
        decay = min(training.average_decay, 1 - 1 / (self.step / 8 + 1))
        with torch.no_grad():
            torch._foreach_lerp_(
                list(self.average.parameters()), list(self.network.parameters()), 1 - decay
            )
        return torch.stack([word_loss.detach(), phoneme_loss.detach()])

    def save(self) -> None:
        """Write the checkpoint and, smaller, the averaged weights alone."""
        if self._rank.number:
            return
        self._folder.mkdir(parents=True, exist_ok=True)
        about = {
            "config": asdict(self._config),
            "step": self.step,
            "steps": self.steps,
            "hours": dict(self.bank.speech.hours()),
            "started_from_sha256": self._about_start,
        }
        whole = {
            **about,
            "network": self.network.state_dict(),
            "average": self.average.state_dict(),
            "optimiser": self._optimiser.state_dict(),
        }
        half = {name: value.half().cpu() for name, value in self.average.state_dict().items()}
        for name, content in (("checkpoint.pt", whole), ("average.pt", {**about, "average": half})):
            new = self._folder / f"{name}.new"
            torch.save(content, new)
            new.replace(self._folder / name)
        (self._folder / "about.json").write_text(json.dumps(about, indent=1))

    def _load(self) -> None:
        path = self._folder / "checkpoint.pt"
        if not path.exists():
            return
        state = torch.load(path, map_location=self._rank.device, weights_only=True)
        self.network.load_state_dict(state["network"])
        self.average.load_state_dict(state["average"])
        self._optimiser.load_state_dict(state["optimiser"])
        self.step, self.steps = state["step"], state["steps"]
        self._share = self.step / self.steps
        LOG.info("resumed at step %d", self.step)
