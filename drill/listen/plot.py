"""Pictures of what is heard: spectrogram, fading and levels, with a sentence for each."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Clip
from drill.core.random_streams import stream
from drill.radio import BASEBAND_RATE_HZ
from drill.radio.fading import WattersonFading

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LEVEL_BLOCK_S = 0.02
SPAN_DB = 60.0
HIGHEST_HZ = 4000


@dataclass(frozen=True, kw_only=True, eq=False)
class Panel:
    """One sound to draw, the conditions that it was made under, and its item's seed."""

    title: str
    clip: Clip
    conditions: Conditions
    seed: int


def fading_db(conditions: Conditions, seed: int, seconds: float) -> NDArray[np.float64]:
    """Return the fading of an item at 1500 Hz of audio, dB, shape (n,) at BASEBAND_RATE_HZ."""
    carrier = np.ones(round(seconds * BASEBAND_RATE_HZ), np.complex64)
    path = WattersonFading(conditions.fading, stream(seed, "fading"))
    gain = np.concatenate([path.process(carrier), path.finish()])
    return np.asarray(20 * np.log10(np.maximum(np.abs(gain), 1e-4)), np.float64)


def levels_db(clip: Clip) -> NDArray[np.float64]:
    """Return the level of a sound in blocks of LEVEL_BLOCK_S, dB below full scale."""
    size = round(LEVEL_BLOCK_S * clip.rate_hz)
    blocks = clip.samples[: len(clip.samples) // size * size].reshape(-1, size).astype(np.float64)
    return np.asarray(10 * np.log10(np.mean(blocks**2, axis=1) + 1e-12), np.float64)


def draw(path: Path, panels: Sequence[Panel]) -> list[str]:
    """Draw the panels into a PNG file; return a sentence for each.

    Raises: UserError where the name does not end in .png or the file cannot be written.
    """
    if path.suffix.lower() != ".png":
        raise UserError(f"the picture {path} has to be a .png file")
    try:
        pictured(panels).savefig(path, dpi=100)
    except OSError as error:
        raise UserError(f"{path} cannot be written: {error.strerror}") from None
    return [sentence(panel) for panel in panels]


def pictured(panels: Sequence[Panel]) -> "Figure":
    """Return the panels as a figure: spectrogram, fading and levels of each."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(10, 1 + 4.2 * len(panels)), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots(2 * len(panels), 2, squeeze=False, width_ratios=(3, 1))
    for number, panel in enumerate(panels):
        _spectrogram(axes[2 * number, 0], panel)
        _fading(axes[2 * number + 1, 0], panel)
        _levels(axes[2 * number, 1], panel)
        axes[2 * number + 1, 1].axis("off")
    return figure


def _spectrogram(axes: "Axes", panel: Panel) -> None:
    clip = panel.clip
    with np.errstate(divide="ignore"):  # without noise the ends are silent
        spectrum: Any = axes.specgram(
            clip.samples, NFFT=512, noverlap=384, Fs=clip.rate_hz, cmap="cividis", scale="dB"
        )
    top = float(np.max(10 * np.log10(spectrum[0] + 1e-20)))
    spectrum[3].set_clim(top - SPAN_DB, top)
    axes.set(title=panel.title, ylabel="Hz", ylim=(0, HIGHEST_HZ), xlim=(0, clip.seconds))


def _fading(axes: "Axes", panel: Panel) -> None:
    gain = fading_db(panel.conditions, panel.seed, panel.clip.seconds)
    axes.plot(np.arange(len(gain)) / BASEBAND_RATE_HZ, gain, color="#1b4965", linewidth=1)
    axes.axhline(0, color="#888888", linewidth=0.8)
    axes.set(
        xlabel="seconds",
        ylabel="fading, dB",
        xlim=(0, panel.clip.seconds),
        ylim=(min(-30.0, float(np.min(gain)) - 2), 10),
    )


def _levels(axes: "Axes", panel: Panel) -> None:
    axes.hist(levels_db(panel.clip), bins=np.arange(-70, 1, 2).tolist(), color="#1b4965")
    axes.set(xlabel="level in 20 ms, dB", ylabel="blocks")


@dataclass(frozen=True, kw_only=True)
class Seen:
    """The figures of a panel.

    levels_db: below which the sound is for 10, 50 and 90 % of the time. fading_db: the lowest and
    the highest gain of the path at 1500 Hz of audio, None where it is steady. weak_percent: of the
    time more than 10 dB down.
    """

    seconds: float
    levels_db: tuple[float, float, float]
    fading_db: tuple[float, float] | None
    weak_percent: float


def seen(panel: Panel) -> Seen:
    """Return in figures what the picture of a panel shows."""
    low, middle, high = (float(q) for q in np.quantile(levels_db(panel.clip), (0.1, 0.5, 0.9)))
    steady = panel.conditions.fading.steady
    gain = fading_db(panel.conditions, panel.seed, panel.clip.seconds)
    return Seen(
        seconds=panel.clip.seconds,
        levels_db=(low, middle, high),
        fading_db=None if steady else (float(np.min(gain)), float(np.max(gain))),
        weak_percent=0.0 if steady else 100 * float(np.mean(gain < -10)),
    )


def sentence(panel: Panel) -> str:
    """Return in words what the picture of a panel shows."""
    found = seen(panel)
    low, middle, high = found.levels_db
    words = (
        f"{panel.title}: {found.seconds:.1f} s; levels {low:.0f}, {middle:.0f} and {high:.0f} "
        "dB (10, 50 and 90 % of the time below)"
    )
    if found.fading_db is None:
        return f"{words}; no fading."
    lowest, highest = found.fading_db
    return (
        f"{words}; fading from {lowest:.0f} to {highest:+.0f} dB at 1500 Hz, "
        f"{found.weak_percent:.0f} % of the time more than 10 dB down."
    )
