"""The player of a hunt on the sound card, with a device that plays at once."""

import threading
import time

import numpy as np
import pytest

from drill.cli import hunt_player
from drill.cli.hunt_player import QUEUED_SAMPLES, SoundCardPlayer
from drill.core.models import Samples
from drill.hunt.live import LiveHunt
from drill.hunt.sound import BLOCK
from drill.hunt.stream import HuntStream
from tests.drill.hunt.sounding import NoiseSpeech, UnrecordedHunt, ten_minutes


class FakeDevice:
    """A device that keeps its samples until `play`."""

    def __init__(self) -> None:
        self.samples = np.zeros(0, np.float32)
        self.waiting = 0
        self.underruns = 0
        self.is_open = True

    def write(self, samples: Samples) -> None:
        self.samples = np.concatenate([self.samples, samples])
        self.waiting += len(samples)

    def halt(self) -> None:
        """Do nothing."""

    def close(self) -> None:
        self.is_open = False


def test_a_few_blocks_wait_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    device = FakeDevice()
    monkeypatch.setattr(hunt_player, "StreamPlayer", lambda: device)
    stream = HuntStream(UnrecordedHunt(LiveHunt(ten_minutes(), speech=NoiseSpeech())))
    story = threading.Thread(target=stream.run)
    story.start()
    player = SoundCardPlayer()
    player.start(stream)
    for _ in range(3):
        while device.waiting < QUEUED_SAMPLES:
            time.sleep(0.001)
        assert device.waiting < QUEUED_SAMPLES + BLOCK
        device.waiting = 0
    player.close()
    stream.stop()
    story.join()
    assert not device.is_open
    assert player.last is not None
    assert player.last.at + len(player.last.samples) == len(device.samples)
    assert np.std(device.samples) > 0.01
