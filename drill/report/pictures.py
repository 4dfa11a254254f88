"""Pictures of figures as data, which a screen draws: points, a curve, or rows with intervals.

`says` gives the figures in words, for users who do not see the picture.
"""

from dataclasses import dataclass
from typing import Literal

from drill.psychometrics.intervals import Interval


@dataclass(frozen=True, kw_only=True, slots=True)
class PicturePoint:
    """A value with its interval at a position on the horizontal axis. label: of the position."""

    x: float
    interval: Interval
    label: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class PointsPicture:
    """Values with intervals over time or over another quantity.

    unit: of the values. lower_is_better: draw low values at the top. ends: labels of the first and
    the last point, used if the points have no labels. whole: the values are shares of 100.
    """

    says: str
    points: tuple[PicturePoint, ...]
    unit: str
    lower_is_better: bool = False
    ends: tuple[str, str] = ("", "")
    whole: bool = False
    kind: Literal["points"] = "points"


@dataclass(frozen=True, kw_only=True, slots=True)
class CurvePicture:
    """A psychometric function with its 95 % band, and the data by SNR.

    curve: points of the function, by rising SNR in dB. data: shares copied. x50_db: None if not to
    be marked. machine: points of a machine's curve, empty without one; machine_label: its name.
    """

    says: str
    curve: tuple[PicturePoint, ...]
    data: tuple[PicturePoint, ...]
    x50_db: float | None
    machine: tuple[PicturePoint, ...] = ()
    machine_label: str = ""
    kind: Literal["curve"] = "curve"


@dataclass(frozen=True, kw_only=True, slots=True)
class PictureRow:
    """A label with its value and interval."""

    label: str
    interval: Interval


@dataclass(frozen=True, kw_only=True, slots=True)
class RowsPicture:
    """Labels with values; zero_label: meaning of 0. unit: of the values."""

    says: str
    rows: tuple[PictureRow, ...]
    zero_label: str
    unit: str
    kind: Literal["rows"] = "rows"


Picture = PointsPicture | CurvePicture | RowsPicture
