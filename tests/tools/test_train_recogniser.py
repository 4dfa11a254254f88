"""Training the recogniser: features, batches and steps. Skipped without the extra [train]."""

from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="training needs torch")

from drill.core.errors import UserError  # noqa: E402
from drill.radio.levels import speech_level  # noqa: E402
from drill.recogniser.own.front_end import RATE_HZ, log_mel  # noqa: E402
from tests.tools.train_recogniser import augment_channel, augment_voice  # noqa: E402
from tests.tools.train_recogniser.augmentation import Augmentation  # noqa: E402
from tests.tools.train_recogniser.bank import write_shard  # noqa: E402
from tests.tools.train_recogniser.batches import SLOWEST, draw_layout, gather  # noqa: E402
from tests.tools.train_recogniser.config import AugmentationConfig, BankConfig, read_config  # noqa: E402
from tests.tools.train_recogniser.device_bank import DeviceBank  # noqa: E402
from tests.tools.train_recogniser.draws import Draws  # noqa: E402
from tests.tools.train_recogniser.export import write_mean  # noqa: E402
from tests.tools.train_recogniser.features import BatchFeatures  # noqa: E402
from tests.tools.train_recogniser.training import Trainer  # noqa: E402
from tests.tools.train_recogniser.vocabulary import vocabulary  # noqa: E402
from tests.tools.train_recogniser.vowel_habits import (  # noqa: E402
    draw_habits,
    known_habits,
    with_habits,
)

CPU = torch.device("cpu")
QUICK = BankConfig(hours={}, shards={}, limit_s=60.0)
CONFIG = Path(__file__).parent / "train_recogniser" / "default.toml"
SMALL = {"training.batch": 4, "training.steps": 2, "training.seconds": 4.0,
         "network.width_fine": 32, "network.width_coarse": 32, "network.blocks_fine": 1,
         "network.blocks_coarse": 1, "training.mix": {"formant": 1.0}}  # fmt: skip


@pytest.fixture(scope="module")
def bank(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bank")
    write_shard("formant", folder, seed=1, seconds=40.0, config=QUICK)
    return folder


def _sound(bank: Path, batch: int = 4) -> Any:
    device_bank = DeviceBank(bank, CPU)
    layout = draw_layout(
        device_bank.speech, np.random.default_rng(1), batch=batch, samples=4 * RATE_HZ,
        mix={"formant": 1.0}, speed=0.0,
    )  # fmt: skip
    return gather(device_bank.samples, layout, 4 * RATE_HZ)[:, : 4 * RATE_HZ]


def test_features_in_training_equal_those_of_the_recogniser(bank: Path) -> None:
    sound = _sound(bank)
    batch = BatchFeatures(CPU).plain(sound).numpy()
    for item, features in zip(sound.numpy(), batch, strict=True):
        np.testing.assert_allclose(features, log_mel(item, RATE_HZ), atol=1e-4)


def test_utterances_of_a_batch_fit_and_do_not_overlap(bank: Path) -> None:
    speech = DeviceBank(bank, CPU).speech
    samples, batch = 6 * RATE_HZ, 64
    for seed in range(5):
        layout = draw_layout(
            speech, np.random.default_rng(seed), batch=batch, samples=samples,
            mix={"formant": 1.0}, speed=0.09,
        )  # fmt: skip
        length = round(samples * SLOWEST)
        starts, counts = layout.rows[:, 1], layout.rows[:, 2]
        items = starts // length
        assert np.array_equal(items, (starts + counts - 1) // length)
        assert np.all(starts[1:] >= (starts + counts)[:-1])
        assert layout.token_counts.sum() == len(layout.tokens)
        readings = [vocabulary().reading(int(token)) for token in layout.tokens]
        assert layout.phonemes.tolist() == [number for row in readings for number in row]
        assert layout.phoneme_counts.sum() == len(layout.phonemes)


def test_the_mean_of_runs_is_the_mean_of_their_weights(tmp_path: Path) -> None:
    paths = [tmp_path / f"{number}.pt" for number in (1, 2)]
    for number, path in enumerate(paths):
        torch.save({"average": {"w": torch.full((2,), float(number))}, "step": 7}, path)
    write_mean(paths, tmp_path / "mean.pt")
    mean = torch.load(tmp_path / "mean.pt", weights_only=True)
    assert mean["average"]["w"].tolist() == [0.5, 0.5]


def test_habits_replace_sounds_of_every_word() -> None:
    assert with_habits("seks", (("e", "i"), ("s", "z"))) == "zikz"
    drawn = [draw_habits(Random(seed)) for seed in range(200)]
    assert 0.3 < sum(map(bool, drawn)) / len(drawn) < 0.6
    assert {habit for habits in drawn for habit in habits} <= set(known_habits())


def test_active_power_equals_that_of_p56(bank: Path) -> None:
    sound = _sound(bank)
    levels_db = 10 * np.log10(augment_voice.active_power(sound)[:, 0].numpy())
    for item, level_db in zip(sound.numpy(), levels_db, strict=True):
        assert level_db == pytest.approx(speech_level(item, RATE_HZ).active_db, abs=0.6)


def test_noise_has_unit_power_in_3_khz() -> None:
    plain = AugmentationConfig(static=0, interference=0)
    noise = augment_channel.noise(6 * RATE_HZ, plain, Draws(32, CPU))
    power = noise.pow(2).mean(1) * 3000 / (RATE_HZ / 2)
    assert float(power.median()) == pytest.approx(1, abs=0.1)


def test_fading_has_unit_mean_power() -> None:
    draws = Draws(64, CPU)
    gain = augment_channel.fading_gain(draws, 6 * RATE_HZ, draws.even_log(1.0, 5.0))
    assert float(gain.abs().pow(2).mean()) == pytest.approx(1, abs=0.15)


@pytest.mark.slow
def test_batches_are_finite_and_differ(bank: Path) -> None:
    augmentation = Augmentation(AugmentationConfig(), 4 * RATE_HZ, CPU)
    sound, speed = _sound(bank), torch.ones(4, 1)
    first, second = augmentation(sound, speed), augmentation(sound, speed)
    assert first.shape == (4, 398, 40)
    assert torch.isfinite(first).all()
    assert not torch.equal(first, second)


@pytest.mark.slow
def test_a_run_is_repeatable_and_resumes(bank: Path, tmp_path: Path) -> None:
    config = read_config(CONFIG, SMALL)
    whole = Trainer(config, bank, tmp_path / "whole")
    assert whole.run()
    again = Trainer(config, bank, tmp_path / "again")
    again.run()
    for name, weights in whole.network.state_dict().items():
        assert torch.equal(weights, again.network.state_dict()[name]), name
    half = Trainer(config, bank, tmp_path / "half")
    half.run(limit_s=0)
    assert half.step == 0
    resumed = Trainer(config, bank, tmp_path / "half")
    assert resumed.run()
    assert resumed.step == 2


@pytest.mark.slow
def test_a_time_limit_can_end_a_run(bank: Path, tmp_path: Path) -> None:
    run = Trainer(read_config(CONFIG, {**SMALL, "training.steps": 1000}), bank, tmp_path / "run")
    assert run.run(finish_in_s=1.0)
    assert 1 < run.step == run.steps < 1000


def test_a_wrong_entry_is_named(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="beauty"):
        read_config(CONFIG, {"training.beauty": 1})
    with pytest.raises(UserError, match=r"missing\.toml"):
        read_config(tmp_path / "missing.toml")
