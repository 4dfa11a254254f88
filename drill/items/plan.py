"""What a sitting consists of, and the items that follow from it.

A plan and a number give an item, always the same one.
"""

import random
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from drill.callmix.mix import LearnedMix, mix_from_dict
from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Item, Speech
from drill.core.paths import data_folder
from drill.core.structuring import from_data
from drill.radio.presets import fading
from drill.voices.operators import draw_operator
from drill.voices.people.habits import over_style_for
from drill.voices.wordbank.engine import reworded
from phonetics.callsigns import MIXES, OwnMix
from phonetics.callsigns import compose as compose_call
from phonetics.exchanges import Exchange, ExchangeError, load
from phonetics.phrases import compose_message

PARTS = ("call", "exchange", "over")
PACE_RANGE = (0.6, 1.8)


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """All choices of a sitting. Checked when made.

    part: "call", "exchange" or "over". exchange: name of a shipped or own exchange. mix: region of
    the calls, or "unassigned". snr_db: in 3 kHz, None for no noise. pace: 1 is usual. voices: names
    of operators or groups, empty for the group "bundled". alternates: share of letters not said in
    the ITU's word, None to leave it to each operator's habit. learned: the whole of an own mix,
    whose name mix is then, so that the same items come again after its file is changed or gone.

    Raises: UserError naming the value and what is allowed.
    """

    seed: int
    count: int = 20
    part: str = "call"
    exchange: str = "serial"
    mix: str = "world"
    conditions: Conditions = field(default_factory=Conditions)
    pace: float = 1.0
    voices: tuple[str, ...] = ()
    alternates: float | None = None
    learned: LearnedMix | None = None

    def __post_init__(self) -> None:
        """Check every choice that can be checked alone."""
        _one_of("part", self.part, PARTS)
        _one_of("mix", self.mix, MIXES if self.learned is None else (self.learned.name,))
        _within("count", self.count, 1, 100_000)
        _within("seed", self.seed, 0, 2**63 - 1)
        _within("pace", self.pace, *PACE_RANGE)
        if self.alternates is not None:
            _within("share of alternates", self.alternates, 0, 1)
        draw_operator(random.Random(0), self.voices or None)
        self.load_exchange()

    @property
    def calls(self) -> str | OwnMix:
        """Return the mix that calls are composed by."""
        return self.learned or self.mix

    def load_exchange(self) -> Exchange:
        """Return the exchange, from the user's folder or the package."""
        try:
            return load(self.exchange, data_folder() / "exchanges")
        except ExchangeError as error:
            raise UserError(str(error)) from None

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON; from_dict gives the plan back."""
        return asdict(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Plan":
        """Return the plan that to_dict wrote, of this version or of an older one."""
        rest = {key: data[key] for key in data if key not in ("conditions", "snr_db", "fading")}
        rest["voices"] = tuple(rest["voices"])
        if rest.get("learned") is not None:
            rest["learned"] = mix_from_dict(rest["learned"])
        return cls(**rest, conditions=conditions_of(data))


def conditions_of(data: Mapping[str, Any]) -> Conditions:
    """Return the conditions in the data of a plan; before version 0.2 they were two entries."""
    if "conditions" in data:
        return from_data(Conditions, data["conditions"])
    return Conditions(snr_db=data["snr_db"], fading=fading(data["fading"]))


def _one_of(name: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise UserError(f"{name} {value!r} is unknown; choose one of {', '.join(allowed)}")


def _within(name: str, value: float, low: float, high: float, unit: str = "") -> None:
    if not low <= value <= high:
        raise UserError(f"{name} {value:g}{unit} is out of range; allowed are {low:g} to {high:g}")


def compose(plan: Plan, number: int) -> Item:
    """Return item `number`, counted from 0, of a plan. Serial numbers rise with the number.

    First comes the call, then who speaks it, then how. What is said, who speaks and how are drawn
    apart, so that the same seed gives the same calls and fields to other voices too. The first item
    has to sound at once: no slow engine speaks it where there is another.
    """
    seed = _chance(plan.seed, f"item {number}").getrandbits(48)
    wanted = _speech(plan, seed, "", part=plan.part, progress=number, quick=number == 0)
    return Item(
        seed=seed,
        message=wanted.message,
        operator=wanted.operator,
        conditions=plan.conditions,
        neighbours=tuple(
            _speech(plan, seed, f"neighbour {place} ", part="over", progress=place, quick=True)
            for place in range(len(plan.conditions.neighbours))
        ),
    )


def _speech(plan: Plan, seed: int, use: str, *, part: str, progress: int, quick: bool) -> Speech:
    """Return what a station says and who speaks; a neighbour gives a whole over of the contest."""
    chance = _chance(seed, f"{use}message")
    call = compose_call(chance, mix=plan.calls)
    operator = draw_operator(
        _chance(seed, f"{use}operator"),
        plan.voices or None,
        call=call,
        pace=plan.pace,
        skip_slow_engines=quick,
    )
    message = compose_message(
        chance,
        part=part,
        exchange=None if part == "call" else plan.load_exchange(),
        call=call,
        progress=progress,
        manner=over_style_for(operator, _chance(seed, f"{use}manner"), alternates=plan.alternates),
    )
    # A bank of recordings may lack words; what is meant stays the same.
    message = replace(message, words=reworded(message.words, operator))
    return Speech(message=message, operator=operator)


def _chance(seed: int, use: str) -> random.Random:
    """Return a generator for one use of a seed.

    A string seeds Python's generator through SHA-512: the same on every machine and version.
    """
    return random.Random(f"faintcall {seed} {use}")
