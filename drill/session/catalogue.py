"""The choices for a session, each name with a sentence, and the default form of a new session."""

from collections.abc import Callable, Collection, Mapping
from itertools import chain
from pathlib import Path
from typing import Any

from drill import voices
from drill.callmix.storage import learned_mix_names
from drill.core.conditions import PROCESSING, STAGES
from drill.core.errors import UserError
from drill.core.models import Operator
from drill.core.paths import data_folder
from drill.items.plan import PACE_RANGE, Plan, compose_item
from drill.linkbudget.noise_levels import NOISE_CATEGORIES
from drill.radio import presets
from drill.session.changes import CHANGES
from drill.session.kinds import registered_kinds
from drill.session.kinds.practice import Practice
from drill.session.options import DEFAULT_PATH_SNR_DB, SessionOptions
from drill.voices.people.roster import (
    BUNDLED_GROUP,
    ENGINE_GROUPS,
    FORMANT_GROUP,
    NATURAL_GROUP,
    OPERATOR_GROUPS,
    STUDIO_GROUP,
    group_members,
)
from drill.voices.people.styles import PLAIN_STYLE, apply_style_to_operator
from drill.voices.wordbank.bank_operators import bank_operators
from drill.voices.wordbank.engine import BankEngine
from phonetics.callsign_mixes import CALLSIGN_MIXES, FICTION_NOTICE
from phonetics.exchanges import ExchangeError, exchange_names, load_exchange

CatalogueEntry = dict[str, Any]
"""A name that can be chosen ("name") and a sentence about it ("says"); "problem": True if it is
unusable."""

EXAMPLE_SEED = 7
"""Seed of the example of each exchange."""
_PARTS = {
    "call": "the call alone, such as E87ABC",
    "exchange": "what is exchanged, without the call, such as 59 014",
    "over": "call and exchange in one over, such as E87ABC 59 014",
}
_PROCESSING = {
    "none": "the voice as it is",
    "compressed": "differences in loudness evened out slowly",
    "clipped": "peaks clipped, for the highest average power",
}
_MIXES = {
    "world": "all countries, weighted as in a busy weekend",
    "unassigned": "calls that nobody uses, for examples and tests",
}
_GROUPS = {
    NATURAL_GROUP: "all operators of the natural voice, which speak by default",
    FORMANT_GROUP: "all operators of the formant voice, which is harder to understand",
    BUNDLED_GROUP: "all operators that come with the program",
    STUDIO_GROUP: "all operators of the studio voice",
}
_ALTERNATES = {
    "0": "every letter with the ITU's word",
    "0.5": "half of the letters with other words",
    "1": "every letter with another word, if it has one",
}


def session_catalogue() -> dict[str, Any]:
    """Return all choices on this computer, including the user's own files, as data for JSON.

    Raises: UserError.
    """
    catalogue: dict[str, Any] = {
        "kinds": [
            {
                "name": kind.name,
                "title": kind.title,
                "says": kind.sentence,
                "activity": kind.activity,
                "options": sorted(kind.options),
            }
            for kind in registered_kinds()
        ],
        "parts": catalogue_entries(_PARTS),
        "exchanges": exchange_entries(),
        "mixes": _mix_entries(),
        "conditions": condition_entries(),
        "fading": catalogue_entries(
            {name: presets.part_description(name) for name in presets.fading_names()}
        ),
        "receivers": catalogue_entries(
            {name: presets.part_description(name) for name in presets.receiver_names()}
        ),
        "processing": catalogue_entries({name: _PROCESSING[name] for name in PROCESSING}),
        "stages": list(STAGES),
        "places": list(NOISE_CATEGORIES),
        "voices": _voices(),
        "pace": {"low": PACE_RANGE[0], "high": PACE_RANGE[1]},
        "counts": {kind.name: kind.default_count for kind in registered_kinds()},
        "fiction": f"Calls are {FICTION_NOTICE}.",
    }
    catalogue["compare"] = _change_entries(catalogue)
    catalogue["defaults"] = _default_form()
    return catalogue


def _default_form() -> dict[str, Any]:
    """Return the form of a new session."""
    options = SessionOptions()
    return {
        "kind": Practice.name,
        "count": Practice.default_count,
        "part": options.part,
        "exchange": options.exchange,
        "mix": options.mix,
        "conditions": options.conditions,
        "snr_db": 0.0,
        "pace": options.pace,
        "path_snr_db": DEFAULT_PATH_SNR_DB,
    }


def catalogue_entries(sentences: Mapping[str, str]) -> list[CatalogueEntry]:
    """Return an entry for each name and its sentence."""
    return [{"name": name, "says": sentence} for name, sentence in sentences.items()]


def exchange_entries() -> list[CatalogueEntry]:
    """Return the exchanges, including the user's own."""
    own = data_folder() / "exchanges"

    def sentence(name: str) -> str:
        exchange = load_exchange(name, own)
        return f"{exchange.title}: {exchange.sentence} For example {_example(name)}."

    shipped = exchange_names()
    return [_entry_of_file(name, sentence, own, shipped) for name in exchange_names(own)]


def _example(exchange: str) -> str:
    """Return the fields of an item of an exchange, without the call. Raises: UserError."""
    plan = Plan(seed=EXAMPLE_SEED, part="exchange", exchange=exchange, mix="unassigned")
    return " ".join(field.text for field in compose_item(plan, 0).message.fields)


def condition_entries() -> list[CatalogueEntry]:
    """Return the conditions presets, including the user's own."""
    own = data_folder() / "conditions"
    shipped = presets.preset_names()

    def sentence(name: str) -> str:
        return presets.load_preset(name, own).description

    return [_entry_of_file(name, sentence, own, shipped) for name in presets.preset_names(own)]


def _entry_of_file(
    name: str, sentence: Callable[[str], str], own: Path, shipped: Collection[str]
) -> CatalogueEntry:
    """Return an entry. It says whether a user's file replaces a bundled one, or has an error.

    own: the user's folder. shipped: names that are shipped.
    """
    replaced = name in shipped and (own / f"{name}.toml").is_file()
    try:
        note = " (your own file, in place of the shipped one)" if replaced else ""
        return {"name": name, "says": f"{sentence(name)}{note}"}
    except (ExchangeError, UserError) as error:
        return {"name": name, "says": f"cannot be used: {error}", "problem": True}


def _mix_entries() -> list[CatalogueEntry]:
    sentences = {name: f"calls of {name.replace('-', ' ').title()}" for name in CALLSIGN_MIXES}
    learned = dict.fromkeys(learned_mix_names(), "learned from your own log")
    return catalogue_entries({**sentences, **_MIXES, **learned})


def _voices() -> dict[str, Any]:
    problems = {name: voices.find_engine(name).problem() for name in voices.engine_names()}
    ready = {
        group: [p for p in group_members(group) if not problems.get(p.engine)]
        for group in OPERATOR_GROUPS
    }
    return {
        "groups": [
            {"name": name, "says": problems[name] or "ready", "ready": not problems[name]}
            for name in problems
        ],
        "operators": [
            {"name": group, "says": _GROUPS[group], "group": group, "hard": False}
            for group, members in ready.items()
            if members
        ]
        + [
            {
                "name": operator.name,
                "says": _operator_sentence(operator),
                "group": operator.engine,
                "hard": operator.hard,
            }
            for operator in (*chain(*(ready[name] for name in ENGINE_GROUPS)), *bank_operators())
        ],
    }


def _operator_sentence(operator: Operator) -> str:
    if operator.engine == BankEngine.name:
        return "recorded words"
    accent = f", accent {operator.accent}" if operator.accent else ""
    style = "" if operator.vocal_style == PLAIN_STYLE else f", {operator.vocal_style}"
    hard = ", hard to understand, only when asked for" if operator.hard else ""
    pitch_hz = apply_style_to_operator(operator).pitch_hz
    return f"{operator.engine}, {pitch_hz:.0f} Hz{accent}{style}{hard}"


def _change_entries(catalogue: Mapping[str, Any]) -> list[CatalogueEntry]:
    values = {
        "conditions": catalogue["conditions"],
        "fading": catalogue["fading"],
        "filter": catalogue["receivers"],
        "processing": catalogue["processing"],
        "voices": catalogue["voices"]["operators"],
        "alternates": catalogue_entries(_ALTERNATES),
        "exchange": catalogue["exchanges"],
        "mix": catalogue["mixes"],
    }
    return [
        {"name": name, "says": change.sentence, "values": values[name]}
        for name, change in CHANGES.items()
    ]
