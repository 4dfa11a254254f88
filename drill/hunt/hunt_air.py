"""The path of overs in a hunt, and how long they last.

Overs in reach of the receiver last as long as their speech, all others as long as a mean over with
the same words.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cached_property, partial

from drill.contact.air import OnAir, Participant, Reception, arrived_voices
from drill.contact.model_air import ModelAir
from drill.contact.overs import FAR, TRAINEE, Over
from drill.contact.rendered_air import RenderedAir
from drill.contact.stations import FarStation
from drill.core.models import Clip
from drill.hunt.band import Holder
from drill.hunt.path_fading import PathFading
from drill.hunt.speech import SpeechSource, speech_of, timed_by_speech
from drill.radio import AUDIO_RATE_HZ

FAINTEST_DB = -25.0
"""Voices below this SNR in 3 kHz cannot be heard, so no speech is synthesised for them."""


class HuntAir:
    """The Air on one holder's frequency, without sound; drill.hunt.sound renders the sound.

    model: lengths and short fading. speech: None with the accelerated clock. is_in_reach: whether
    an over that is keyed now is in reach of the receiver.
    """

    def __init__(
        self,
        holder: Holder,
        model: ModelAir,
        speech: SpeechSource | None,
        is_in_reach: Callable[[], bool],
    ) -> None:
        """Store the parameters."""
        self._holder, self._model = holder, model
        self._speech, self._is_in_reach = speech, is_in_reach

    def key(self, participant: Participant, over: Over, number: int, start: int) -> OnAir:
        """Return an over as it will be on the air. See Air. Raises: NoVoice."""
        on_air = self._model.key(participant, over, number, start)
        if not self._is_heard(participant):
            return on_air
        return timed_by_speech(on_air, self.speech_of(on_air))

    def _is_heard(self, participant: Participant) -> bool:
        if participant.name == TRAINEE:
            return True
        return is_audible(participant) and self._is_in_reach()

    def speech_of(self, on_air: OnAir) -> Clip | None:
        """Return the speech of an over, None with the accelerated clock. Raises: NoVoice."""
        return speech_of(on_air, self._speech, self._holder.station.seed)

    def receive(
        self, end: str, on_air: Sequence[OnAir], start: int, stop: int, *, told: Sequence[OnAir]
    ) -> Reception:
        """Return the received words; sound only if an over came from the microphone. See Air."""
        fade_db = self._near_fade_db if end == "near" else self._far_fade_db
        clip = None
        if end == "far" and any(over.over.clip is not None for over in told):
            clip = partial(far_sound, self._holder.station, tuple(on_air), start, stop)
        return Reception(
            start=start,
            end=stop,
            voices=arrived_voices(end, on_air, told, start, fade_db),
            clip=clip,
        )

    @cached_property
    def _path(self) -> PathFading:
        station = self._holder.station
        return PathFading(station.conditions.fading, station.path_seed)

    def _far_fade_db(self, over: OnAir, begin: int, finish: int) -> float:
        """Return the gain of a path to the holder; the trainee's is that of the sound, if any."""
        if self._speech is None or over.speaker != TRAINEE:
            return self._model.fade_db(over, begin, finish)
        return self._path.gain_db(begin, finish)

    def _near_fade_db(self, over: OnAir, begin: int, finish: int) -> float:
        """Return the gain of a path to the trainee, including the holder's slow change."""
        fade_db = self._model.fade_db(over, begin, finish)
        if over.speaker != FAR:
            return fade_db
        return fade_db + self._holder.drift.db(begin / AUDIO_RATE_HZ) - self._holder.splatter_db


def far_sound(station: FarStation, on_air: Sequence[OnAir], start: int, stop: int) -> Clip:
    """Return the sound at a far operator between two times. Raises: NoVoice.

    Its time begins with the first over, and its short fading is independent.
    """
    shift_db = -station.ear_offset_db
    first = min([start, *(over.start for over in on_air)])
    overs = [_moved(over, -first) for over in on_air]
    air = RenderedAir(station, far_shift_db=shift_db)
    return air.render("far", overs, start - first, stop - first)


def _moved(over: OnAir, by: int) -> OnAir:
    """Return an over moved to another time, on a path with independent short fading."""
    path_seed = over.participant.path_seed + over.start
    return replace(
        over,
        participant=replace(over.participant, path_seed=path_seed),
        start=over.start + by,
        end=over.end + by,
        times=tuple((begin + by, finish + by) for begin, finish in over.times),
    )


def is_audible(participant: Participant) -> bool:
    """Return whether the trainee can hear a voice at all."""
    return participant.near_db is not None and participant.near_db > FAINTEST_DB
