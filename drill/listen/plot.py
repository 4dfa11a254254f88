"""Pictures of received overs: spectrogram, fading and levels, in the page's colours."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.chart_colours import (
    CHART_FIRST,
    CHART_GROUND,
    CHART_INK,
    CHART_RULE,
    CHART_SECOND,
    CHART_SOFT,
)
from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.listen.figures import WEAK_FADING_DB, block_levels_db, fading_curve_db
from drill.radio import BASEBAND_RATE_HZ

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SPECTROGRAM_WINDOW, SPECTROGRAM_HOP = 512, 128
SPECTROGRAM_TOP_HZ = 4000
PAINT_PREFIX = "paint-"
PAINTS = (("first", CHART_FIRST, -52.0, -14.0), ("ink", CHART_INK, -22.0, -2.0))
"""The layers of a spectrogram, each of one colour: name, colour, and the levels in dB below the
loudest point at which the layer begins to show and at which it is opaque. The picture is therefore
darker where the signal is stronger; in a dark scheme it is lighter there."""


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
    check_picture_name(path)
    try:
        plot_panels(panels).savefig(path, dpi=100)
    except OSError as error:
        raise UserError(f"{path} cannot be written: {error.strerror}", field="picture") from None


def check_picture_name(path: Path) -> None:
    """Raise UserError if the name does not end in .png."""
    if path.suffix.lower() != ".png":
        raise UserError(f"{path} is not a PNG file; give a name that ends in .png", field="picture")


def plot_panels(panels: Sequence[Panel]) -> "Figure":
    """Return a figure with spectrogram, fading and levels of each panel."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    size = (8, 0.8 + 3.6 * len(panels))  # inches; larger ones have smaller text on the page
    figure = Figure(figsize=size, layout="constrained", facecolor=CHART_GROUND)
    FigureCanvasAgg(figure)
    axes = figure.subplots(2 * len(panels), 2, squeeze=False, width_ratios=(5, 2))
    for number, panel in enumerate(panels):
        _plot_spectrogram(axes[2 * number, 0], panel)
        _plot_fading(axes[2 * number + 1, 0], panel)
        _plot_levels(axes[2 * number, 1], panel)
        axes[2 * number + 1, 1].axis("off")
    for one in axes.flat:
        _colour_frame(one)
    return figure


def _colour_frame(axes: "Axes") -> None:
    axes.set_facecolor(CHART_GROUND)
    axes.tick_params(colors=CHART_INK)
    for text in (axes.title, axes.xaxis.label, axes.yaxis.label):
        text.set_color(CHART_INK)
    for side, spine in axes.spines.items():
        spine.set_color(CHART_RULE)
        spine.set_visible(side in ("left", "bottom"))


def _plot_spectrogram(axes: "Axes", panel: Panel) -> None:
    """Draw the spectrogram: one image for each of PAINTS, its opacity the level."""
    from matplotlib.colors import to_rgba

    clip = panel.clip
    levels_db = spectrogram_db(clip)
    for name, colour, from_db, full_db in PAINTS:
        opacity = np.clip((levels_db - from_db) / (full_db - from_db), 0, 1)
        image = np.empty((*levels_db.shape, 4), np.float32)
        image[...] = to_rgba(colour)
        image[..., 3] = opacity
        axes.imshow(
            image,
            origin="lower",
            aspect="auto",
            extent=(0, clip.seconds, 0, clip.rate_hz / 2),
            interpolation="bilinear",
            gid=f"{PAINT_PREFIX}{name}",
        )
    axes.set(title=panel.title, ylabel="Hz", ylim=(0, SPECTROGRAM_TOP_HZ), xlim=(0, clip.seconds))


def spectrogram_db(clip: Clip) -> FloatArray:
    """Return the power of each frequency and time in dB below the highest.

    Shape (SPECTROGRAM_WINDOW / 2 + 1, frames), frequency rising from 0 to half of the sampling
    rate; Hann window. A clip shorter than the window gives one frame.
    """
    missing = max(0, SPECTROGRAM_WINDOW - len(clip.samples))
    samples = np.pad(clip.samples.astype(np.float64), (0, missing))
    frames = np.lib.stride_tricks.sliding_window_view(samples, SPECTROGRAM_WINDOW)
    spectra = np.fft.rfft(frames[::SPECTROGRAM_HOP] * np.hanning(SPECTROGRAM_WINDOW))
    power = np.abs(spectra.T) ** 2 + 1e-20
    return np.asarray(10 * np.log10(power / power.max()))


def _plot_fading(axes: "Axes", panel: Panel) -> None:
    gain_db = fading_curve_db(panel.conditions, panel.seed, panel.clip.seconds)
    times_s = np.arange(len(gain_db)) / BASEBAND_RATE_HZ
    axes.axhline(0, color=CHART_RULE, linewidth=0.8)
    axes.fill_between(
        times_s,
        WEAK_FADING_DB,
        gain_db,
        where=gain_db < WEAK_FADING_DB,
        color=CHART_SECOND,
        alpha=0.5,
        linewidth=0,
    )
    axes.plot(times_s, gain_db, color=CHART_FIRST, linewidth=1.5)
    axes.set(
        xlabel="seconds",
        ylabel="fading, dB",
        xlim=(0, panel.clip.seconds),
        ylim=(min(-30.0, float(np.min(gain_db)) - 2), 10),
    )


def _plot_levels(axes: "Axes", panel: Panel) -> None:
    axes.hist(
        block_levels_db(panel.clip),
        bins=np.arange(-70, 1, 2).tolist(),
        color=CHART_SOFT,
        edgecolor=CHART_FIRST,
    )
    axes.set(xlabel="level, dB", ylabel="blocks")
