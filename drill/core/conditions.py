"""Radio conditions of an item as data: everything from the station's microphone to the trainee's
ears.

`Conditions` is one frozen value made of parts. Every part checks itself when it is created and
raises UserError naming the value and what is allowed. drill.radio.presets holds named conditions
and parts.
"""

from dataclasses import dataclass, field, replace
from typing import Any

from drill.core.errors import UserError
from drill.core.validation import integer_within, one_of, within

PROCESSING = ("none", "compressed", "clipped")
MICROPHONES = ("plain", "bright", "dull")
AGC_NAMES = ("off", "quick", "medium", "slow")
STAGES = ("processing", "fading", "noise", "interference", "neighbours", "filter", "agc")
"""Stages of the channel that without_stage can remove."""
MIN_SPREAD_HZ = 0.01
PASSBAND_LIMITS_HZ = (50.0, 3350.0)
MAX_NEIGHBOURS = 50


@dataclass(frozen=True, kw_only=True, slots=True)
class Transmitter:
    """The transmitter of the wanted station.

    processing: "none", "compressed" (slow gain, like an audio compressor) or "clipped" (the
    envelope of the radio-frequency signal is limited, then filtered again). microphone: "plain",
    "bright" (treble raised) or "dull" (treble lowered). low_hz, high_hz: edges of the transmitted
    audio band, at half amplitude. off_frequency_hz: the station's frequency minus the receiver's.
    overdrive_db: drive of the final amplifier above rated drive, at which third-order products lie
    30 dB below PEP; more overdrive means more splatter.
    """

    processing: str = "none"
    microphone: str = "plain"
    low_hz: float = 300.0
    high_hz: float = 2700.0
    off_frequency_hz: float = 0.0
    overdrive_db: float = 0.0

    def __post_init__(self) -> None:
        """Check names and ranges."""
        one_of("processing", self.processing, PROCESSING)
        one_of("microphone", self.microphone, MICROPHONES)
        within("low_hz", self.low_hz, 100, 1000, "Hz", label="lower band edge")
        within("high_hz", self.high_hz, 1500, 3200, "Hz", label="upper band edge")
        within("off_frequency_hz", self.off_frequency_hz, -500, 500, "Hz", label="off frequency")
        within("overdrive_db", self.overdrive_db, 0, 40, "dB", label="overdrive")


@dataclass(frozen=True, kw_only=True, slots=True)
class Fading:
    """A Watterson channel: two paths that fade independently.

    Without delay and spread the channel is steady. delay_ms: delay between the paths. spread_hz:
    Doppler spread, two sigma of the Gaussian Doppler power spectrum. second_db: mean power of the
    second path relative to the first. specular_db: steady relative to scattered power of the first
    path, None for no steady part. Source: ITU-R F.1487 (05/2000).
    """

    name: str = "steady"
    delay_ms: float = 0.0
    spread_hz: float = 0.0
    second_db: float = 0.0
    specular_db: float | None = None

    def __post_init__(self) -> None:
        """Check the ranges."""
        within("delay_ms", self.delay_ms, 0, 20, "ms", label="delay")
        within("spread_hz", self.spread_hz, 0, 100, "Hz", label="Doppler spread")
        if 0 < self.spread_hz < MIN_SPREAD_HZ:
            raise UserError(
                f"Doppler spread {self.spread_hz:g} Hz is too small; "
                f"give 0, or {MIN_SPREAD_HZ:g} Hz or more",
                field="spread_hz",
                kind="out_of_range",
            )
        within("second_db", self.second_db, -60, 20, "dB", label="level of the second path")
        if self.specular_db is not None:
            within("specular_db", self.specular_db, -40, 40, "dB", label="specular level")

    @property
    def steady(self) -> bool:
        """True if the fading changes nothing."""
        return self.delay_ms == 0 and self.spread_hz == 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Whistle:
    """A steady carrier, heard as a tone.

    pitch_hz: audio frequency at the receiver. snr_db: power of the carrier against noise in 3 kHz.
    """

    pitch_hz: float = 1000.0
    snr_db: float = 0.0

    def __post_init__(self) -> None:
        """Check the ranges."""
        within("pitch_hz", self.pitch_hz, 50, 3400, "Hz", label="pitch of the whistle")
        within("snr_db", self.snr_db, -40, 60, "dB", label="level of the whistle")


@dataclass(frozen=True, kw_only=True, slots=True)
class Buzz:
    """Power-line noise: harmonics of twice the mains frequency, uneven in time.

    snr_db: power of the harmonics against noise in 3 kHz.
    """

    mains_hz: float = 50.0
    snr_db: float = 0.0

    def __post_init__(self) -> None:
        """Check the ranges."""
        within("mains_hz", self.mains_hz, 16, 400, "Hz", label="mains frequency")
        within("snr_db", self.snr_db, -40, 60, "dB", label="level of the buzz")


@dataclass(frozen=True, kw_only=True, slots=True)
class Pulses:
    """A train of short swept pulses. snr_db: their mean power against noise in 3 kHz."""

    rate_hz: float = 20.0
    snr_db: float = 0.0

    def __post_init__(self) -> None:
        """Check the ranges."""
        within("rate_hz", self.rate_hz, 1, 100, "per second", label="pulse rate")
        within("snr_db", self.snr_db, -40, 60, "dB", label="level of the pulses")


@dataclass(frozen=True, kw_only=True, slots=True)
class Noise:
    """The kind of noise, and the interference on the frequency. The SNR sets the level of the
    noise.

    vd_db: voltage deviation Vd in 200 Hz, None for Gaussian noise (1.05 dB).
    Source: ITU-R P.372 for Vd.
    """

    vd_db: float | None = None
    whistle: Whistle | None = None
    buzz: Buzz | None = None
    pulses: Pulses | None = None

    def __post_init__(self) -> None:
        """Check the range."""
        if self.vd_db is not None:
            within("vd_db", self.vd_db, 1.05, 12, "dB", label="voltage deviation Vd")


@dataclass(frozen=True, kw_only=True, slots=True)
class Neighbour:
    """A station that transmits near the wanted station's frequency at the same time.

    offset_hz: its frequency minus the wanted station's. snr_db: active speech level of its
    transmission, with its processing and overdrive, relative to the noise power in 3 kHz. inverted:
    it uses the other sideband, so that its spectrum is reversed. overdrive_db: as in Transmitter.
    fading: of its path; None means independent fading of the same kind as the wanted station's.
    """

    offset_hz: float = 2000.0
    snr_db: float = 20.0
    inverted: bool = False
    overdrive_db: float = 0.0
    processing: str = "none"
    fading: Fading | None = None

    def __post_init__(self) -> None:
        """Check names and ranges."""
        within("offset_hz", self.offset_hz, -6000, 6000, "Hz", label="offset of the neighbour")
        within("snr_db", self.snr_db, -40, 80, "dB", label="level of the neighbour")
        within("overdrive_db", self.overdrive_db, 0, 40, "dB", label="overdrive of the neighbour")
        one_of("processing", self.processing, PROCESSING)


@dataclass(frozen=True, kw_only=True, slots=True)
class Receiver:
    """The trainee's receiver.

    width_hz: width of the filter between its points of half amplitude, centred on 1500 Hz of audio.
    shift_hz: moves the filter. agc: automatic gain control, "off" (fixed gain), "quick", "medium"
    or "slow".
    """

    width_hz: float = 2600.0
    shift_hz: float = 0.0
    agc: str = "medium"

    def __post_init__(self) -> None:
        """Check names and ranges; the passband must lie within PASSBAND_LIMITS_HZ."""
        within("width_hz", self.width_hz, 250, 3300, "Hz", label="filter width")
        within("shift_hz", self.shift_hz, -1300, 1700, "Hz", label="filter shift")
        one_of("agc", self.agc, AGC_NAMES, label="AGC")
        lowest_hz, highest_hz = PASSBAND_LIMITS_HZ
        if self.low_hz < lowest_hz or self.high_hz > highest_hz:
            raise UserError(
                f"a filter of {self.width_hz:g} Hz shifted by {self.shift_hz:g} Hz passes "
                f"{self.low_hz:g} to {self.high_hz:g} Hz; "
                f"allowed are {lowest_hz:g} to {highest_hz:g} Hz",
                field="shift_hz",
                kind="out_of_range",
            )

    @property
    def low_hz(self) -> float:
        """Lower edge of the passband in Hz of audio."""
        return 1500 + self.shift_hz - self.width_hz / 2

    @property
    def high_hz(self) -> float:
        """Upper edge of the passband in Hz of audio."""
        return 1500 + self.shift_hz + self.width_hz / 2


@dataclass(frozen=True, kw_only=True, slots=True)
class Conditions:
    """The whole radio channel of an item.

    name: of the preset, "" for none. snr_db: active speech level (ITU-T P.56) of the unprocessed
    voice at the transmitter's output against noise power in 3 kHz, before fading; see
    drill.radio.levels. None: no noise and no interference, and the neighbours have the same levels
    as at an SNR of 0 dB.
    """

    name: str = ""
    snr_db: float | None = 0.0
    transmitter: Transmitter = field(default_factory=Transmitter)
    fading: Fading = field(default_factory=Fading)
    noise: Noise = field(default_factory=Noise)
    neighbours: tuple[Neighbour, ...] = ()
    receiver: Receiver = field(default_factory=Receiver)

    def __post_init__(self) -> None:
        """Check the SNR and the number of neighbours."""
        if self.snr_db is not None:
            within("snr_db", self.snr_db, -30, 60, "dB", label="SNR")
        count = len(self.neighbours)
        integer_within("neighbours", count, 0, MAX_NEIGHBOURS, label="number of neighbours")

    @property
    def sentence(self) -> str:
        """The conditions in a few words, such as "SNR 3 dB in 3 kHz, steady path"."""
        snr = "no noise" if self.snr_db is None else f"SNR {self.snr_db:g} dB in 3 kHz"
        return f"{self._preset_words}{snr}, {self.fading.name} path"

    @property
    def sentence_without_snr(self) -> str:
        """The conditions in a few words, for sessions in which the SNR changes."""
        return f"{self._preset_words}{self.fading.name} path"

    @property
    def _preset_words(self) -> str:
        return f"conditions {self.name}, " if self.name not in ("", "plain") else ""


def without_stage(conditions: Conditions, stage: str) -> Conditions:
    """Return the conditions without one of STAGES. Raises: UserError for an unknown stage."""
    one_of("stage", stage, STAGES)
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
    return replace(conditions, **changes[stage])
