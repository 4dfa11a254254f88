"""Turns each over of a hunt into one signal for the trainee's receiver."""

from collections.abc import Callable, Iterable, Sequence

from drill.contact.air import OnAir
from drill.contact.overs import TRAINEE
from drill.core.conditions import Fading
from drill.hunt.held_frequency import HeldFrequency
from drill.hunt.sound import SignalOnAir
from drill.hunt.speech import speech_request
from drill.items.prefetch_worker import SpeechRequest
from drill.radio.transmitter import transmit_neighbour

SPLATTER_OFFSET_HZ = 5000.0
"""Offset at which transmit_neighbour computes splatter, because a turn of the dial may reach it."""

_Key = tuple[int, str, int]


class SignalCollector:
    """Collects the overs that the receiver can hear.

    fading: of every path. prepare: called in advance with the speech that will be needed.
    """

    def __init__(
        self,
        fading: Fading,
        prepare: Callable[[Sequence[SpeechRequest]], None] = lambda requests: None,
    ) -> None:
        """Start with no over collected."""
        self._fading, self._prepare = fading, prepare
        self._collected: dict[_Key, int] = {}

    def collect(self, channels: Iterable[HeldFrequency], since: int) -> list[SignalOnAir]:
        """Return the overs of channels that end after a time and were not collected before.

        since: in samples; it does not decrease. Raises: NoVoice.
        """
        self._collected = {key: end for key, end in self._collected.items() if end > since}
        new = [
            (channel, on_air)
            for channel in channels
            for on_air in channel.trace
            if on_air.end > since and _key(channel, on_air) not in self._collected
        ]
        self._collected |= {_key(channel, on_air): on_air.end for channel, on_air in new}
        requests = [speech_request(on_air, ch.holder.station.seed) for ch, on_air in new]
        self._prepare([request for request in requests if request is not None])
        signals = [self._signal(channel, on_air) for channel, on_air in new]
        return [signal for signal in signals if signal is not None]

    def _signal(self, channel: HeldFrequency, on_air: OnAir) -> SignalOnAir | None:
        """Return an over as a signal; None if it is the trainee's own or too weak."""
        participant = on_air.participant
        level_db = channel.level_db(participant)
        if on_air.speaker == TRAINEE or level_db is None:
            return None
        speech = channel.speech(on_air)
        if speech is None:
            return None
        clip, start = speech
        emission = transmit_neighbour(clip, channel.transmitter(participant), SPLATTER_OFFSET_HZ)
        return SignalOnAir(
            transmitter=f"{channel.holder.number} {on_air.speaker}",
            carrier_hz=channel.carrier_hz(participant),
            path_seed=participant.path_seed,
            fading=self._fading,
            level_db=level_db,
            start=start,
            # An over that was broken off ends early.
            signal=emission.samples[: max(0, on_air.end - start)],
        )


def _key(channel: HeldFrequency, on_air: OnAir) -> _Key:
    return channel.holder.number, on_air.speaker, on_air.number
