"""Pictures of overs, and names and places that they cannot be written to."""

from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.listen.plot import plot_panels, save_picture
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
