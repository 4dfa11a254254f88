"""From an item to its sound: the only place that joins voice and radio."""

from dataclasses import replace

from drill import voices
from drill.items import Clip, Conditions, Item
from drill.radio.path import Heard, travel


def hear(item: Item) -> Heard:
    """Return what comes out of the receiver for an item, speech and noise apart.

    Raises: NoVoice where the item's engine is not on this machine.
    """
    spoken = voices.speak(item.message.words, item.operator, item.seed)
    return travel(spoken, item.conditions, item.seed)


def render(item: Item) -> Clip:
    """Return the sound of an item as the trainee hears it; the same item, the same samples.

    Raises: NoVoice where the item's engine is not on this machine.
    """
    return hear(item).clip()


def render_clean(item: Item) -> Clip:
    """Return the same over through the same filters without noise and fading."""
    return render(replace(item, conditions=Conditions(snr_db=None)))
