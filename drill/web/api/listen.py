"""/api/listen: one over under chosen conditions, with and without stages of the channel.

The page plays the sounds first and asks for the pictures afterwards (/api/listen/pictures), because
drawing takes several times as long as rendering.
"""

import threading
from collections.abc import Mapping, Sequence
from contextlib import suppress
from queue import Full
from typing import Any

from drill.core.models import Item
from drill.core.validation import checked_list
from drill.items import prefetch
from drill.items.plan import Plan, compose_item
from drill.items.render import receive_item
from drill.listen.compare import item_without_stage
from drill.listen.describe import describe_delivery, describe_picture
from drill.listen.figures import AudioFigures, measure_audio
from drill.listen.plot import Panel, plot_panels
from drill.session.options import plan_from_options
from drill.web import request_fields
from drill.web.audio_cache import AudioCache
from drill.web.svg import inline_svg
from phonetics.callsign_mixes import FICTION_NOTICE
from phonetics.phrases import spoken_text

AS_CHOSEN = "as chosen"
MAX_STAGES = 7
FIGURE_HEADINGS = (
    "over",
    "SNR in 3 kHz",
    "from processing, dB",
    "PEP above speech, dB",
    "mean level, dB",
    "peak level, dB",
    "level for 10, 50, 90 % of the time, dB",
    "fading at 1500 Hz, dB",
    "more than 10 dB down, % of the time",
)


class ListenApi:
    """Renders overs for listening, one request at a time."""

    def __init__(self, sounds: AudioCache) -> None:
        """Use this cache for the audio."""
        self._sounds = sounds
        self._lock = threading.Lock()

    def listen(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Return one over under the conditions of a form, and without each of its stages.

        data: session options, and "without" with at most MAX_STAGES stages.

        Raises: UserError with the name of the wrong field; NoVoice.
        """
        plan, stages = _plan_and_stages(data)
        # If prefetching is not possible, the over is synthesised below.
        with suppress(OSError, RuntimeError, Full):
            prefetch.wait_for_prefetch(prefetch.prefetch_item(compose_item(plan, 0)), patient=True)
        # Rendering keeps a processor busy; two at the same time would both be slow.
        with self._lock:
            return listen_json(plan, stages, self._sounds)

    def pictures(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """Return the pictures of what `listen` returned for the same data.

        data: as in `listen`, with the seed that it returned. Raises: as `listen`.
        """
        plan, stages = _plan_and_stages(data)
        with self._lock:
            return {"pictures": pictures_json(plan, stages)}


def _plan_and_stages(data: Mapping[str, Any]) -> tuple[Plan, tuple[str, ...]]:
    form = dict(data)
    stages = checked_list("without", form.pop("without", None) or [], most=MAX_STAGES)
    plan = plan_from_options(request_fields.session_options(form), default_count=1)
    return plan, tuple(dict.fromkeys(stages))


def _variants(item: Item, stages: Sequence[str]) -> dict[str, Item]:
    """Return an item, and its variants without each stage, by name. Raises: UserError."""
    without = {f"without {stage}": item_without_stage(item, stage) for stage in stages}
    return {AS_CHOSEN: item, **without}


def listen_json(plan: Plan, stages: Sequence[str], sounds: AudioCache) -> dict[str, Any]:
    """Return the plan's first over and the same over without each stage: audio and figures.

    Raises: UserError if there is no such stage; NoVoice.
    """
    item = compose_item(plan, 0)
    entries, rows = [], []
    for number, (name, variant) in enumerate(_variants(item, stages).items()):
        received = receive_item(variant)
        figures = measure_audio(received, variant.conditions, variant.seed)
        entries.append(
            {
                "name": name,
                "url": sounds.add(received.clip),
                "seconds": round(received.clip.seconds, 3),
                "snr_db": figures.snr_db,
                "says": describe_delivery(figures),
                "same": number > 0 and variant == item,
            }
        )
        rows.append([name, *_figure_cells(figures)])
    return {
        "sentence": f"{plan.conditions.sentence}, seed {plan.seed}.",
        "seed": plan.seed,
        "sounds": entries,
        "said": _said_json(item),
        "tables": [
            {"caption": "Figures of the audio", "head": list(FIGURE_HEADINGS), "rows": rows}
        ],
        "fiction": FICTION_NOTICE,
    }


def pictures_json(plan: Plan, stages: Sequence[str]) -> list[dict[str, str]]:
    """Return a picture of the plan's first over and of the same over without each stage.

    Raises: as listen_json.
    """
    pictures = []
    for number, (name, variant) in enumerate(_variants(compose_item(plan, 0), stages).items()):
        received = receive_item(variant)
        figures = measure_audio(received, variant.conditions, variant.seed)
        panel = Panel(
            title=name, clip=received.clip, conditions=variant.conditions, seed=variant.seed
        )
        pictures.append(_picture_json(panel, figures, f"over{number}"))
    return pictures


def _said_json(item: Item) -> dict[str, Any]:
    return {
        "operator": item.operator.name,
        "words": spoken_text(item.message).split(),
        "fields": [{"name": field.name, "text": field.text} for field in item.message.fields],
    }


def _picture_json(panel: Panel, figures: AudioFigures, id_prefix: str) -> dict[str, str]:
    description = describe_picture(figures)
    svg = inline_svg(
        plot_panels([panel]),
        title=f"Spectrogram, fading and levels, {panel.title}",
        description=description,
        id_prefix=id_prefix,
    )
    return {"name": panel.title, "svg": svg, "says": description}


def _figure_cells(figures: AudioFigures) -> list[str]:
    fading = figures.fading_range_db
    return [
        "no noise" if figures.snr_db is None else f"{figures.snr_db:+.1f} dB",
        f"{figures.processing_gain_db:+.1f}",
        f"{figures.pep_over_speech_db:.1f}",
        f"{figures.mean_db:.1f}",
        f"{figures.peak_db:.1f}",
        ", ".join(f"{level_db:.0f}" for level_db in figures.level_quantiles_db),
        "none" if fading is None else f"{fading[0]:.0f} to {fading[1]:+.0f}",
        f"{100 * figures.weak_share:.0f}",
    ]
