"""What can be chosen: every name with a sentence, and how a new sitting begins."""

from collections.abc import Callable
from itertools import chain
from typing import Any

from drill import voices
from drill.callmix import mix
from drill.core.conditions import PROCESSING, STAGES
from drill.core.errors import UserError
from drill.core.models import Operator
from drill.core.paths import data_folder
from drill.items.plan import PACE_RANGE
from drill.linkbudget.noise_levels import CATEGORIES
from drill.radio import presets
from drill.session import options
from drill.session.blocks import CHANGES
from drill.voices.people.roster import (
    BUNDLED_GROUP,
    OPERATOR_GROUPS,
    STUDIO_GROUP,
    roster_entries,
)
from drill.voices.people.styles import PLAIN_STYLE, apply_style_to_operator
from drill.voices.wordbank.engine import BankEngine, bank_operators
from phonetics.callsigns import FICTION, MIXES
from phonetics.exchanges import ExchangeError, load, names

Entry = dict[str, Any]

PARTS = {
    "call": "the call alone",
    "exchange": "what is exchanged, without the call",
    "over": "call and exchange in one over",
}
PROCESSED = {
    "none": "the voice as it is",
    "compressed": "its loudness evened out slowly",
    "clipped": "its peaks cut, as strong as it gets",
}
WORLDS = {
    "world": "all countries, weighted as in a busy weekend",
    "unassigned": "calls that no administration can have given out",
}
GROUPED = {
    BUNDLED_GROUP: "all that come with the program",
    STUDIO_GROUP: "all of the studio voice",
}
COMPARED = {
    "conditions": "whole sets of conditions",
    "fading": "kinds of fading",
    "filter": "receiver filters",
    "processing": "what the station does to its voice",
    "voices": "who speaks; names joined by +",
    "alternates": "share of letters not said in the ITU's word, 0 to 1",
    "exchange": "exchanges",
    "mix": "where the calls come from",
}
ALTERNATES = {
    "0": "every letter in the ITU's word",
    "0.5": "half of the letters in other words",
    "1": "every letter in another word, where there is one",
}


def offers() -> dict[str, Any]:
    """Return all that can be chosen here, the user's own files included. Raises: UserError."""
    found: dict[str, Any] = {
        "parts": entries(PARTS),
        "exchanges": exchanges(),
        "mixes": entries(
            {name: WORLDS.get(name, f"calls of {name.replace('-', ' ').title()}") for name in MIXES}
            | dict.fromkeys(mix.names(), "learned from your own log")
        ),
        "conditions": conditions(),
        "fading": [
            {"name": n, "says": presets.part_description(n)} for n in presets.fading_names()
        ],
        "receivers": [
            {"name": n, "says": presets.part_description(n)} for n in presets.receiver_names()
        ],
        "processing": entries({name: PROCESSED[name] for name in PROCESSING}),
        "stages": list(STAGES),
        "places": list(CATEGORIES),
        "voices": _voices(),
        "pace": {"low": PACE_RANGE[0], "high": PACE_RANGE[1]},
        "counts": options.ITEMS,
        "fiction": f"Calls are {FICTION}.",
    }
    found["compare"] = _compare(found)
    found["defaults"] = defaults()
    return found


def defaults() -> dict[str, Any]:
    """Return the form of a new sitting."""
    form = options.Choices()
    return {
        "kind": "practice",
        "count": options.ITEMS["practice"],
        "part": form.part,
        "exchange": form.exchange,
        "mix": form.mix,
        "conditions": form.conditions,
        "snr_db": 0.0,
        "pace": form.pace,
        "path_snr_db": options.PATH_SNR_DB,
    }


def entries(said: dict[str, str]) -> list[Entry]:
    """Return names with their sentences."""
    return [{"name": name, "says": says} for name, says in said.items()]


def exchanges() -> list[Entry]:
    """Return the exchanges, the user's own among them."""
    own = data_folder() / "exchanges"

    def says(name: str) -> str:
        exchange = load(name, own)
        return f"{exchange.title}: {exchange.sentence}"

    return [_entry(name, says) for name in names(own)]


def conditions() -> list[Entry]:
    """Return the sets of conditions, the user's own among them."""
    own = data_folder() / "conditions"
    return [
        _entry(name, lambda n: presets.load_preset(n, own).description)
        for name in presets.preset_names(own)
    ]


def _entry(name: str, says: Callable[[str], str]) -> Entry:
    """Return a name with its sentence; one own file that is wrong must not close all others."""
    try:
        return {"name": name, "says": says(name)}
    except (ExchangeError, UserError) as error:
        return {"name": name, "says": f"cannot be used: {error}", "problem": True}


def _voices() -> dict[str, Any]:
    problems = {name: voices.find_engine(name).problem() for name in voices.engine_names()}
    ready = {
        group: [p.operator for p in roster_entries(group) if not problems.get(p.operator.engine)]
        for group in OPERATOR_GROUPS
    }
    return {
        "groups": [
            {"name": name, "says": problems[name] or "ready", "ready": not problems[name]}
            for name in problems
        ],
        "operators": [
            {"name": group, "says": GROUPED[group], "group": group, "hard": False}
            for group, members in ready.items()
            if members
        ]
        + [
            {"name": one.name, "says": _said(one), "group": one.engine, "hard": one.hard}
            for one in (*chain(*ready.values()), *bank_operators())
        ],
    }


def _said(one: Operator) -> str:
    if one.engine == BankEngine.name:
        return "recorded words"
    accent = f", accent {one.accent}" if one.accent else ""
    style = "" if one.vocal_style == PLAIN_STYLE else f", {one.vocal_style}"
    hard = ", hard to understand, only when asked for" if one.hard else ""
    return f"{one.engine}, {apply_style_to_operator(one).pitch_hz:.0f} Hz{accent}{style}{hard}"


def _compare(found: dict[str, Any]) -> list[Entry]:
    values = {
        "conditions": found["conditions"],
        "fading": found["fading"],
        "filter": found["receivers"],
        "processing": found["processing"],
        "voices": found["voices"]["operators"],
        "alternates": entries(ALTERNATES),
        "exchange": found["exchanges"],
        "mix": found["mixes"],
    }
    return [{"name": name, "says": COMPARED[name], "values": values[name]} for name in CHANGES]
