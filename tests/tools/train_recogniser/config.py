"""The configuration of a training run: one TOML file, checked."""

import tomllib
from dataclasses import dataclass, field
from pathlib import Path

from drill.core.errors import UserError
from drill.core.structuring import from_data


@dataclass(frozen=True, kw_only=True, slots=True)
class BankConfig:
    """The speech to render. hours: hours of each engine. shards: number of files for each engine.

    ways: whether speakers pronounce single words in individual ways. habits: whether speakers
    replace one sound by another. limit_s: longest time for one shard.
    """

    hours: dict[str, float]
    shards: dict[str, int]
    limit_s: float = 1200.0
    ways: bool = True
    habits: bool = True


@dataclass(frozen=True, kw_only=True, slots=True)
class NetworkConfig:
    """Sizes of the network. See network.Network."""

    width_fine: int = 160
    width_coarse: int = 192
    blocks_fine: int = 3
    blocks_coarse: int = 6
    dropout: float = 0.1


@dataclass(frozen=True, kw_only=True, slots=True)
class AugmentationConfig:
    """The changes that clean speech undergoes before training. Levels in dB, SNR in 3 kHz.

    share_mid_snr of items have an SNR drawn evenly from mid_snr_db, share_clean have 50 dB, the
    rest are drawn from wide_snr_db; both ranges are a lowest and a highest value. The other figures
    are the share of items that have the effect; warp and speed are spreads.
    """

    wide_snr_db: tuple[float, ...] = (-14.0, 36.0)
    mid_snr_db: tuple[float, ...] = (-8.0, 14.0)
    share_mid_snr: float = 0.55
    share_clean: float = 0.06
    equaliser: float = 0.8
    room: float = 0.45
    compression: float = 0.35
    clipping: float = 0.4
    fading: float = 0.5
    mistuning: float = 0.6
    neighbours: float = 0.5
    interference: float = 0.3
    static: float = 0.25
    gain_control: float = 0.6
    masks: float = 0.5
    curved_warp: float = 0.5
    pace: float = 0.4
    warp: float = 1.0
    speed: float = 0.09


@dataclass(frozen=True, kw_only=True, slots=True)
class TrainingConfig:
    """Parameters of a run. mix: share of items of each engine. seconds: length of an item.

    batch: items for each step and process. early_snr_db: added to every SNR at first, falling to
    nothing after early_share of the steps. long_silences: up to 4 s of silence before and between
    words, in a share of the items.
    """

    seed: int = 1
    steps: int = 12000
    batch: int = 512
    seconds: float = 6.0
    learning_rate: float = 1.6e-3
    weight_decay: float = 0.02
    warmup_share: float = 0.05
    phoneme_weight: float = 0.3
    average_decay: float = 0.999
    early_snr_db: float = 10.0
    early_share: float = 0.08
    mix: dict[str, float] = field(
        default_factory=lambda: {"natural": 0.47, "studio": 0.3, "formant": 0.23}
    )
    long_silences: bool = True
    compile: bool = True
    refresh_s: float = 30.0
    save_s: float = 60.0


@dataclass(frozen=True, kw_only=True, slots=True)
class RunConfig:
    """Everything that determines a model."""

    bank: BankConfig
    network: NetworkConfig = field(default_factory=NetworkConfig)
    augmentation: AugmentationConfig = field(default_factory=AugmentationConfig)
    training: TrainingConfig = field(default_factory=TrainingConfig)


def read_config(path: Path, changes: dict[str, object] | None = None) -> RunConfig:
    """Return the configuration in a file. changes: "section.key" and the value to use instead.

    Raises: UserError naming the file or the entry that is wrong.
    """
    try:
        data = tomllib.loads(path.read_text("utf-8"))
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise UserError(f"cannot read the configuration {path}: {error}") from None
    for key, value in (changes or {}).items():
        section, _, entry = key.partition(".")
        data.setdefault(section, {})[entry] = value
    return from_data(RunConfig, data)
