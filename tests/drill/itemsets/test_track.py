"""The track of a set: numbers, items and pauses in one file."""

from pathlib import Path

import numpy as np
import pytest

from drill.core.audio_files import read_audio
from drill.core.errors import UserError
from drill.core.models import Samples
from drill.itemsets.read import read_item_set
from drill.itemsets.track import AFTER_NUMBER_S, TRACK_LEAD_IN_S, announcement, write_track
from drill.radio import AUDIO_RATE_HZ
from drill.voices.operators import find_operator
from tests.drill.itemsets.test_write import CALLS, write_all


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a set of four calls with its track, with pauses of 3 s."""
    created = tmp_path_factory.mktemp("calls")
    write_all(CALLS, created)
    items = read_item_set(created)
    path = created / "track.flac"
    assert list(write_track(items.plan, items.entries, path, pause_s=3.0)) == [1, 2, 3, 4]
    return created


def test_the_track_holds_numbers_items_and_pauses_in_order(folder: Path) -> None:
    track = read_audio(folder / "track.flac").samples
    position = round(TRACK_LEAD_IN_S * AUDIO_RATE_HZ)
    assert not track[:position].any()
    for entry in read_item_set(folder).entries:
        item = read_audio(folder / entry["file"]).samples
        begin = _find(track[position:], item) + position
        number = track[position : begin - round(AFTER_NUMBER_S * AUDIO_RATE_HZ)]
        assert 0.5 < len(number) / AUDIO_RATE_HZ < 4 and np.abs(number).max() > 0.05
        pause = track[begin + len(item) : begin + len(item) + 3 * AUDIO_RATE_HZ]
        assert len(pause) == 3 * AUDIO_RATE_HZ and not pause.any()
        position = begin + len(item) + len(pause)
    assert position == len(track)


def _find(track: Samples, item: Samples) -> int:
    """Return where an item begins in a track."""
    middle = item[len(item) // 2 : len(item) // 2 + 50]
    windows = np.lib.stride_tricks.sliding_window_view(track, len(middle))
    (found,) = np.flatnonzero((windows == middle).all(axis=1))[:1]
    return int(found) - len(item) // 2


def test_an_announcement_is_as_loud_as_an_item(folder: Path) -> None:
    spoken = announcement(12, find_operator("birch"))
    item = read_audio(folder / "item-0001.flac")
    levels = [10 * np.log10(np.mean(clip.samples**2)) for clip in (spoken, item)]
    assert spoken.rate_hz == AUDIO_RATE_HZ
    assert abs(levels[0] - levels[1]) < 4


@pytest.mark.parametrize("pause_s", [0.5, 1e6, float("nan")])
def test_a_pause_out_of_range_is_refused(pause_s: float, tmp_path: Path) -> None:
    with pytest.raises(UserError, match="pause"):
        list(write_track(CALLS, [], tmp_path / "track.wav", pause_s=pause_s))


def test_a_missing_item_leaves_no_track(tmp_path: Path) -> None:
    entries = [{"number": 1, "file": "item-0001.flac"}]
    with pytest.raises(UserError, match="does not exist"):
        list(write_track(CALLS, entries, tmp_path / "track.flac"))
    assert not list(tmp_path.iterdir())
