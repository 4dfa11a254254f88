"""From an item to its audio: the only module that joins voices and radio."""

from dataclasses import replace

from drill import voices
from drill.core.conditions import Conditions, Receiver
from drill.core.models import Clip, Item
from drill.radio.channel import ReceivedAudio, simulate


def synthesise_item(item: Item) -> list[Clip]:
    """Return the speech of the wanted station, then of each neighbour; all goes into the cache.

    Raises: NoVoice if an engine is missing or fails.
    """
    wanted = voices.speak(item.message.words, item.operator, item.seed)
    neighbours = [
        voices.speak(neighbour.message.words, neighbour.operator, item.seed + number)
        for number, neighbour in enumerate(item.neighbours, 1)
    ]
    return [wanted, *neighbours]


def receive_item(item: Item) -> ReceivedAudio:
    """Return the audio of an item at the trainee's ears, with its emissions and delivered SNR.

    Raises: NoVoice if an engine is missing or fails.
    """
    wanted, *neighbours = synthesise_item(item)
    return simulate(wanted, item.conditions, item.seed, neighbours)


def render(item: Item) -> Clip:
    """Return the audio of an item as the trainee hears it; the same item gives the same samples.

    Raises: NoVoice if an engine is missing or fails.
    """
    return receive_item(item).clip


def render_clean(item: Item) -> Clip:
    """Return the item's over through the usual filters, without noise, fading and neighbours.

    Raises: NoVoice if an engine is missing or fails.
    """
    clean = Conditions(snr_db=None, receiver=Receiver(agc="off"))
    return render(replace(item, conditions=clean, neighbours=()))
