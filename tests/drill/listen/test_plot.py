"""Pictures of overs, and file names and folders that they cannot be written to."""

from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from drill.core import chart_colours
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.listen.plot import PAINTS, plot_panels, save_picture, spectrogram_db
from tests.drill.listen.overs import noise_panel


def test_a_picture_is_a_png_file(tmp_path: Path) -> None:
    save_picture(tmp_path / "a.png", [noise_panel()])
    assert (tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")


def test_each_panel_has_spectrogram_fading_and_levels() -> None:
    figure = plot_panels([noise_panel(), noise_panel()])
    visible = [axes for axes in figure.axes if axes.axison]
    assert len(visible) == 6
    assert [axes.get_title() for axes in visible if axes.get_title()] == ["one", "one"]


def test_another_format_is_rejected(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"it\.jpg is not a PNG file; give a name that ends in"):
        save_picture(tmp_path / "it.jpg", [noise_panel()])


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"no.it\.png cannot be written: No such file"):
        save_picture(tmp_path / "no" / "it.png", [noise_panel()])


def test_the_spectrogram_has_only_colours_of_the_page_and_more_of_them_where_it_is_louder() -> None:
    panel = noise_panel()
    axes = plot_panels([panel]).axes[0]
    colours = {chart_colours.CHART_FIRST, chart_colours.CHART_INK}
    assert {colour for _, colour, *_ in PAINTS} == colours
    assert axes.get_facecolor()[:3] == to_rgb(chart_colours.CHART_GROUND)
    levels_db = spectrogram_db(panel.clip).ravel()
    for image, (_, colour, _, full_db) in zip(axes.images, PAINTS, strict=True):
        pixels = np.asarray(image.get_array()).reshape(-1, 4)
        assert np.allclose(pixels[:, :3], to_rgb(colour), atol=1e-6)
        assert np.all(np.diff(pixels[np.argsort(levels_db), 3]) >= -1e-6)
        assert np.all(pixels[levels_db > full_db, 3] == 1)


def test_a_tone_is_at_its_frequency() -> None:
    tone = np.sin(2 * np.pi * 1000 * np.arange(8000) / 8000).astype(np.float32)
    levels_db = spectrogram_db(Clip(samples=tone, rate_hz=8000))
    assert levels_db.shape == (257, 59)
    assert set(np.argmax(levels_db, axis=0)) == {64}  # 64 of 256 steps of 15.6 Hz
    assert levels_db.max() == 0
    # Harris (1978), Hann window: sidelobes fall by 18 dB per octave.
    assert np.all(levels_db[128] < -80)


def test_a_short_or_silent_clip_has_a_spectrogram() -> None:
    assert spectrogram_db(Clip(samples=np.ones(9, np.float32), rate_hz=8000)).shape == (257, 1)
    silence = spectrogram_db(Clip(samples=np.zeros(1024, np.float32), rate_hz=8000))
    assert np.all(np.isfinite(silence))
