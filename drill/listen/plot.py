"""Pictures of received overs: spectrogram, fading and levels."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.listen.figures import block_levels_db, fading_curve_db
from drill.radio import BASEBAND_RATE_HZ

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SPECTROGRAM_SPAN_DB = 60.0
SPECTROGRAM_TOP_HZ = 4000
LINE_COLOUR = "#1b4965"


@dataclass(frozen=True, kw_only=True, eq=False)
class Panel:
    """One over to draw: its audio, the conditions under which it was received, its item's seed."""

    title: str
    clip: Clip
    conditions: Conditions
    seed: int


def save_picture(path: Path, panels: Sequence[Panel]) -> None:
    """Write a picture of the panels as a PNG file.

    Raises: UserError if the name does not end in .png or the file cannot be written.
    """
    if path.suffix.lower() != ".png":
        raise UserError(f"{path} is not a PNG file; give a name that ends in .png", field="picture")
    try:
        plot_panels(panels).savefig(path, dpi=100)
    except OSError as error:
        raise UserError(f"{path} cannot be written: {error.strerror}", field="picture") from None


def plot_panels(panels: Sequence[Panel]) -> "Figure":
    """Return a figure with spectrogram, fading and levels of each panel."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(10, 1 + 4.2 * len(panels)), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots(2 * len(panels), 2, squeeze=False, width_ratios=(3, 1))
    for number, panel in enumerate(panels):
        _plot_spectrogram(axes[2 * number, 0], panel)
        _plot_fading(axes[2 * number + 1, 0], panel)
        _plot_levels(axes[2 * number, 1], panel)
        axes[2 * number + 1, 1].axis("off")
    return figure


def _plot_spectrogram(axes: "Axes", panel: Panel) -> None:
    clip = panel.clip
    with np.errstate(divide="ignore"):  # without noise, the audio is silent at both ends
        spectrogram: Any = axes.specgram(
            clip.samples, NFFT=512, noverlap=384, Fs=clip.rate_hz, cmap="cividis", scale="dB"
        )
    power, _, _, image = spectrogram
    top_db = float(np.max(10 * np.log10(power + 1e-20)))
    image.set_clim(top_db - SPECTROGRAM_SPAN_DB, top_db)
    axes.set(title=panel.title, ylabel="Hz", ylim=(0, SPECTROGRAM_TOP_HZ), xlim=(0, clip.seconds))


def _plot_fading(axes: "Axes", panel: Panel) -> None:
    gain_db = fading_curve_db(panel.conditions, panel.seed, panel.clip.seconds)
    axes.plot(np.arange(len(gain_db)) / BASEBAND_RATE_HZ, gain_db, color=LINE_COLOUR, linewidth=1)
    axes.axhline(0, color="#888888", linewidth=0.8)
    axes.set(
        xlabel="seconds",
        ylabel="fading, dB",
        xlim=(0, panel.clip.seconds),
        ylim=(min(-30.0, float(np.min(gain_db)) - 2), 10),
    )


def _plot_levels(axes: "Axes", panel: Panel) -> None:
    axes.hist(block_levels_db(panel.clip), bins=np.arange(-70, 1, 2).tolist(), color=LINE_COLOUR)
    axes.set(xlabel="level in 20 ms, dB", ylabel="blocks")
