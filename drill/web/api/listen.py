"""Listening to conditions for the page: sounds, pictures, and what is known about them."""

from collections.abc import Callable, Sequence
from typing import Any

from drill.core.conditions import STAGES, Conditions
from drill.core.conditions import without as bared
from drill.core.models import Clip, Item
from drill.items.plan import Plan, compose_item
from drill.items.render import receive_item
from drill.listen.compare import Delivered, delivered, versions
from drill.listen.plot import Panel, Seen, pictured, seen, sentence
from drill.web.svg import inline
from phonetics.callsigns import FICTION
from phonetics.phrases import text_of

AS_ASKED = "as asked"
HEAD = (
    "sound",
    "SNR in 3 kHz",
    "by processing, dB",
    "PEP over speech, dB",
    "mean, dB",
    "peak, dB",
    "level below for 10, 50, 90 % of the time, dB",
    "fading at 1500 Hz, dB",
    "more than 10 dB down, % of the time",
)


def listen(plan: Plan, without: Sequence[str], keep: Callable[[Clip], str]) -> dict[str, Any]:
    """Return an over under a plan's conditions, and without each of these stages.

    keep: takes a sound and returns the address that it is fetched from.
    Raises: UserError where there is no such stage; NoVoice.
    """
    item = compose_item(plan, 0)
    items = {AS_ASKED: item}
    items |= {f"without {stage}": bare for stage, bare in versions(item, without).items()}
    sounds, pictures, rows = [], [], []
    for number, (name, one) in enumerate(items.items()):
        heard = receive_item(one)
        panel = Panel(title=name, clip=heard.clip, conditions=one.conditions, seed=one.seed)
        known, figures = delivered(heard), seen(panel)
        same = number > 0 and one == item
        sounds.append(
            {
                "name": name,
                "url": keep(heard.clip),
                "seconds": round(heard.clip.seconds, 3),
                "says": known.sentence,
                "same": same,
            }
        )
        rows.append([name, *_cells(known, figures)])
        pictures.append(_picture(panel, number))
    return {
        "sentence": f"{plan.conditions.sentence}, seed {plan.seed}.",
        "seed": plan.seed,
        "delivered": sounds[0]["says"],
        "sounds": sounds,
        "said": _said(item),
        "pictures": pictures,
        "tables": [{"caption": "What is heard, in figures", "head": list(HEAD), "rows": rows}],
        "stages": stages(item.conditions),
        "fiction": FICTION,
    }


def stages(conditions: Conditions) -> list[str]:
    """Return the stages whose removal would change what these conditions let one hear."""
    return [stage for stage in STAGES if bared(conditions, stage) != conditions]


def _said(item: Item) -> dict[str, Any]:
    return {
        "operator": item.operator.name,
        "words": text_of(item.message).split(),
        "fields": [{"name": field.name, "text": field.text} for field in item.message.fields],
    }


def _picture(panel: Panel, number: int) -> dict[str, str]:
    says = sentence(panel)
    svg = inline(
        pictured([panel]),
        title=f"Spectrogram, fading and levels, {panel.title}",
        says=says,
        mark=f"heard{number}",
    )
    return {"name": panel.title, "svg": svg, "says": says}


def _cells(known: Delivered, figures: Seen) -> list[str]:
    fading = figures.fading_db
    return [
        "no noise" if known.snr_db is None else f"{known.snr_db:+.1f} dB",
        f"{known.processing_db:+.1f}",
        f"{known.pep_db:.1f}",
        f"{known.mean_db:.1f}",
        f"{known.peak_db:.1f}",
        ", ".join(f"{level:.0f}" for level in figures.levels_db),
        "none" if fading is None else f"{fading[0]:.0f} to {fading[1]:+.0f}",
        f"{figures.weak_percent:.0f}",
    ]
