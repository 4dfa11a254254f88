"""From an item to its sound: the only place that joins voice and radio."""

from dataclasses import replace

from drill import voices
from drill.core.conditions import Conditions, Receiver
from drill.core.models import Clip, Item
from drill.radio.channel import ReceivedAudio, simulate


def prepare(item: Item) -> None:
    """Have an item spoken ahead, so that hear finds its speech in the cache.

    Raises: NoVoice where the item's engine is not on this machine.
    """
    _spoken(item)


def _spoken(item: Item) -> list[Clip]:
    """Return what the wanted station says, then what its neighbours do."""
    wanted = voices.speak(item.message.words, item.operator, item.seed)
    others = [
        voices.speak(speech.message.words, speech.operator, item.seed + number)
        for number, speech in enumerate(item.neighbours, 1)
    ]
    return [wanted, *others]


def hear(item: Item) -> ReceivedAudio:
    """Return what the trainee hears of an item, and what is known about it.

    Raises: NoVoice where the item's engine is not on this machine.
    """
    wanted, *others = _spoken(item)
    return simulate(wanted, item.conditions, item.seed, others)


def render(item: Item) -> Clip:
    """Return the sound of an item as the trainee hears it; the same item, the same samples.

    Raises: NoVoice where the item's engine is not on this machine.
    """
    return hear(item).clip


def render_clean(item: Item) -> Clip:
    """Return the same over alone, through the usual filters, without noise and fading."""
    bare = Conditions(snr_db=None, receiver=Receiver(agc="off"))
    return render(replace(item, conditions=bare, neighbours=()))
