"""The radio conditions of an item, as data: everything between the far microphone and the ears.

One immutable value, made of parts; every part checks itself when it is made and raises UserError
naming the value and what is allowed. Presets (drill.radio.presets) give parts and wholes by name.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from drill.core.errors import UserError

PROCESSING = ("none", "compressed", "clipped")
MICROPHONES = ("plain", "bright", "dull")
AGC_NAMES = ("off", "quick", "medium", "slow")
STAGES = ("processing", "fading", "noise", "interference", "neighbours", "filter", "agc")

Part = TypeVar("Part")


@dataclass(frozen=True, kw_only=True, slots=True)
class Transmitter:
    """The far station's transmitter.

    processing: none, compressed (slow gain, as an audio compressor) or clipped (the envelope of the
    radio-frequency signal is limited, then filtered again). microphone: plain, bright (highs
    raised) or dull (highs lowered). low_hz, high_hz: edges of the emission, half amplitude.
    off_frequency_hz: how far the station's frequency lies above the receiver's. overdrive_db: by
    how much its peaks exceed what the final amplifier can give; above 0 it splatters.
    """

    processing: str = "none"
    microphone: str = "plain"
    low_hz: float = 300.0
    high_hz: float = 2700.0
    off_frequency_hz: float = 0.0
    overdrive_db: float = 0.0

    def __post_init__(self) -> None:
        """Check the choices."""
        _one_of("processing", self.processing, PROCESSING)
        _one_of("microphone", self.microphone, MICROPHONES)
        _within("low edge of the emission", self.low_hz, 100, 1000, " Hz")
        _within("high edge of the emission", self.high_hz, 1500, 3200, " Hz")
        _within("off frequency", self.off_frequency_hz, -500, 500, " Hz")
        _within("overdrive", self.overdrive_db, 0, 40, " dB")


@dataclass(frozen=True, kw_only=True, slots=True)
class Fading:
    """Two paths that fade independently (Watterson). No delay and no spread: a steady path.

    delay_ms: differential delay. spread_hz: Doppler spread, two sigma of the Gaussian Doppler
    power spectrum. second_db: mean power of the second path against the first. specular_db: steady
    against scattered power of the first path, None for none. Source: ITU-R F.1487 (05/2000).
    """

    name: str = "steady"
    delay_ms: float = 0.0
    spread_hz: float = 0.0
    second_db: float = 0.0
    specular_db: float | None = None

    def __post_init__(self) -> None:
        """Check the ranges."""
        _within("delay", self.delay_ms, 0, 20, " ms")
        _within("Doppler spread", self.spread_hz, 0, 100, " Hz")
        if 0 < self.spread_hz < 0.01:
            raise UserError(f"Doppler spread {self.spread_hz:g} Hz: give 0, or 0.01 Hz or more")
        _within("level of the second path", self.second_db, -60, 20, " dB")
        if self.specular_db is not None:
            _within("steady part of the first path", self.specular_db, -40, 40, " dB")

    @property
    def steady(self) -> bool:
        """Return True where the path changes nothing."""
        return self.delay_ms == 0 and self.spread_hz == 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Whistle:
    """A steady carrier. pitch_hz: as heard. snr_db: its power against the noise in 3 kHz."""

    pitch_hz: float = 1000.0
    snr_db: float = 0.0

    def __post_init__(self) -> None:
        """Check the ranges."""
        _within("pitch of the whistle", self.pitch_hz, 50, 3400, " Hz")
        _within("level of the whistle", self.snr_db, -40, 60, " dB")


@dataclass(frozen=True, kw_only=True, slots=True)
class Buzz:
    """Harmonics of twice the mains frequency, uneven in time.

    snr_db: their power against the noise in 3 kHz.
    """

    mains_hz: float = 50.0
    snr_db: float = 0.0

    def __post_init__(self) -> None:
        """Check the ranges."""
        _within("mains frequency", self.mains_hz, 16, 400, " Hz")
        _within("level of the buzz", self.snr_db, -40, 60, " dB")


@dataclass(frozen=True, kw_only=True, slots=True)
class Pulses:
    """A train of short swept pulses. snr_db: their mean power against the noise in 3 kHz."""

    rate_hz: float = 20.0
    snr_db: float = 0.0

    def __post_init__(self) -> None:
        """Check the ranges."""
        _within("pulse rate", self.rate_hz, 1, 100, " a second")
        _within("level of the pulses", self.snr_db, -40, 60, " dB")


@dataclass(frozen=True, kw_only=True, slots=True)
class Noise:
    """The kind of noise and what else is on the frequency; how much noise is the SNR's affair.

    vd_db: voltage deviation in the receiver's bandwidth, None for Gaussian noise (1.05 dB).
    Source: ITU-R P.372 for Vd.
    """

    vd_db: float | None = None
    whistle: Whistle | None = None
    buzz: Buzz | None = None
    pulses: Pulses | None = None

    def __post_init__(self) -> None:
        """Check the range."""
        if self.vd_db is not None:
            _within("voltage deviation Vd", self.vd_db, 1.05, 12, " dB")


@dataclass(frozen=True, kw_only=True, slots=True)
class Neighbour:
    """Another station that talks while the wanted one does.

    offset_hz: its frequency above the wanted one's. snr_db: its own SNR in 3 kHz. inverted: it uses
    the other sideband, so that its spectrum lies the wrong way round. overdrive_db: above 0 it
    splatters. fading: of its own path, None for the same kind as the wanted station's.
    """

    offset_hz: float = 2000.0
    snr_db: float = 20.0
    inverted: bool = False
    overdrive_db: float = 0.0
    processing: str = "none"
    fading: Fading | None = None

    def __post_init__(self) -> None:
        """Check the ranges."""
        _within("offset of the neighbour", self.offset_hz, -6000, 6000, " Hz")
        _within("level of the neighbour", self.snr_db, -40, 80, " dB")
        _within("overdrive of the neighbour", self.overdrive_db, 0, 40, " dB")
        _one_of("processing", self.processing, PROCESSING)


@dataclass(frozen=True, kw_only=True, slots=True)
class Receiver:
    """The trainee's receiver.

    width_hz: of the filter, between its points of half amplitude, around 1500 Hz of audio.
    shift_hz: moves the filter over the signal. agc: off (a gain that stays), quick, medium, slow.
    """

    width_hz: float = 2600.0
    shift_hz: float = 0.0
    agc: str = "medium"

    def __post_init__(self) -> None:
        """Check the choices; the filter must lie within 50 to 3350 Hz."""
        _within("filter width", self.width_hz, 250, 3300, " Hz")
        _within("filter shift", self.shift_hz, -1300, 1700, " Hz")
        _one_of("AGC", self.agc, AGC_NAMES)
        if self.low_hz < 50 or self.high_hz > 3350:
            raise UserError(
                f"filter of {self.width_hz:g} Hz shifted by {self.shift_hz:g} Hz passes "
                f"{self.low_hz:g} to {self.high_hz:g} Hz; allowed are 50 to 3350 Hz"
            )

    @property
    def low_hz(self) -> float:
        """Return the lower edge in Hz of audio."""
        return 1500 + self.shift_hz - self.width_hz / 2

    @property
    def high_hz(self) -> float:
        """Return the upper edge in Hz of audio."""
        return 1500 + self.shift_hz + self.width_hz / 2


@dataclass(frozen=True, kw_only=True, slots=True)
class Conditions:
    """The radio path of an item.

    name: of the preset it came from, "" for none. snr_db: active speech level (ITU-T P.56) of the
    voice without speech processing at the transmitter's output against noise power in 3 kHz, before
    fading; see drill.radio.levels. None: no noise and nothing else on the frequency but the
    neighbours, whose levels are then as at 0 dB.
    """

    name: str = ""
    snr_db: float | None = 0.0
    transmitter: Transmitter = field(default_factory=Transmitter)
    fading: Fading = field(default_factory=Fading)
    noise: Noise = field(default_factory=Noise)
    neighbours: tuple[Neighbour, ...] = ()
    receiver: Receiver = field(default_factory=Receiver)

    def __post_init__(self) -> None:
        """Check the range of the SNR and the number of neighbours."""
        if self.snr_db is not None:
            _within("SNR", self.snr_db, -30, 60, " dB")
        _within("number of neighbours", len(self.neighbours), 0, 50)

    @property
    def sentence(self) -> str:
        """Return the conditions in a few words."""
        snr = "no noise" if self.snr_db is None else f"SNR {self.snr_db:g} dB in 3 kHz"
        whole = f"conditions {self.name}, " if self.name not in ("", "plain") else ""
        return f"{whole}{snr}, {self.fading.name} path"

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Conditions":
        """Return conditions from plain data, as dataclasses.asdict writes it or TOML holds it.

        Parts that are missing are as by default. Raises: UserError naming the place and the value.
        """
        return _checked(cls, data)


def without(conditions: Conditions, stage: str) -> Conditions:
    """Return the conditions with one of STAGES taken out. Raises: UserError."""
    noise = conditions.noise
    changes: dict[str, dict[str, Any]] = {
        "processing": {"transmitter": replace(conditions.transmitter, processing="none")},
        "fading": {"fading": Fading()},
        "noise": {"snr_db": None},
        "interference": {"noise": replace(noise, whistle=None, buzz=None, pulses=None)},
        "neighbours": {"neighbours": ()},
        "filter": {"receiver": replace(conditions.receiver, width_hz=3000.0, shift_hz=100.0)},
        "agc": {"receiver": replace(conditions.receiver, agc="off")},
    }
    if stage not in changes:
        raise UserError(f"there is no stage {stage!r}; choose one of {', '.join(STAGES)}")
    return replace(conditions, **changes[stage])


def part_from_dict(kind: type[Part], data: Mapping[str, Any]) -> Part:
    """Return one part from plain data. Raises: UserError naming the place and the value."""
    return _checked(kind, data)


def _checked(kind: type[Part], data: Mapping[str, Any]) -> Part:
    from dacite import Config, UnexpectedDataError, WrongTypeError, from_dict

    config = Config(strict=True, type_hooks={float: _number}, cast=[tuple])
    try:
        return from_dict(kind, data, config)
    except UnexpectedDataError as error:
        raise UserError(f"{', '.join(sorted(error.keys))}: there is no such entry") from None
    except WrongTypeError as error:
        raise UserError(
            f"{error.field_path} = {error.value!r} is not of the kind {error.field_type}"
        ) from None
    except TypeError as error:  # a number where a table or a list is meant
        raise UserError(f"the conditions are not in the right form: {error}") from None


def _number(value: Any) -> Any:
    """Return a float for 3, which TOML and JSON write for 3.0; true is no number."""
    if isinstance(value, bool):
        return str(value).lower()
    return float(value) if isinstance(value, int) else value


def _one_of(name: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise UserError(f"{name} {value!r} is unknown; choose one of {', '.join(allowed)}")


def _within(name: str, value: float, low: float, high: float, unit: str = "") -> None:
    if not low <= value <= high:
        raise UserError(f"{name} {value:g}{unit} is out of range; allowed are {low:g} to {high:g}")
