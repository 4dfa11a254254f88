"""The plan of a session, and the items that follow from it.

A plan and an item number determine the item: the same two always give the same item.
"""

import random
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from drill.callmix.mix import LearnedMix
from drill.core.conditions import Conditions
from drill.core.errors import UserError
from drill.core.models import Item, Transmission
from drill.core.paths import data_folder
from drill.core.structuring import from_data, to_data
from drill.core.validation import integer_within, one_of, within
from drill.radio.presets import parse_fading
from drill.voices.operators import draw_operator, find_operators
from drill.voices.people.habits import over_style_for
from drill.voices.people.roster import BUNDLED_GROUP, NATURAL_GROUP
from drill.voices.people.ways import with_ways_for
from drill.voices.wordbank.bank_operators import reword_for_operator
from phonetics.callsign_mixes import CALLSIGN_MIXES, CallsignMix, compose_callsign
from phonetics.exchanges import Exchange, ExchangeError, load_exchange
from phonetics.phrases import MESSAGE_PARTS, compose_message

PACE_RANGE = (0.6, 1.8)


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """All choices that determine the items of a session.

    seed: 0 to 2**63 - 1. count: number of items, 1 to 100,000. part: what the trainee copies, one
    of phonetics.phrases.MESSAGE_PARTS. exchange: name of a shipped exchange or of one in the user's
    folder. mix: where the calls come from, one of phonetics.callsign_mixes.CALLSIGN_MIXES, or the
    name of `learned`. pace: speaking rate, 1 is each operator's usual. voices: names of operators
    or groups. alternates: share of letters that are not spoken as the ITU's word, 0 to 1, None for
    each operator's habit. learned: a mix learned from the user's log. The plan holds all of it, so
    that the items stay the same when its file changes or is deleted.

    Raises: UserError naming the value and what is allowed.
    """

    seed: int
    count: int = 20
    part: str = "call"
    exchange: str = "serial"
    mix: str = "world"
    conditions: Conditions = field(default_factory=Conditions)
    pace: float = 1.0
    voices: tuple[str, ...] = (NATURAL_GROUP,)
    alternates: float | None = None
    learned: LearnedMix | None = None

    def __post_init__(self) -> None:
        """Check every choice, and that the operators and the exchange exist."""
        one_of("part", self.part, MESSAGE_PARTS)
        one_of("mix", self.mix, CALLSIGN_MIXES if self.learned is None else (self.learned.name,))
        integer_within("count", self.count, 1, 100_000)
        integer_within("seed", self.seed, 0, 2**63 - 1)
        within("pace", self.pace, *PACE_RANGE)
        if self.alternates is not None:
            within("alternates", self.alternates, 0, 1, label="share of alternates")
        if self.voices:
            find_operators(self.voices)
        self.load_exchange()

    @property
    def call_mix(self) -> str | CallsignMix:
        """The mix that calls are composed from."""
        return self.learned or self.mix

    def load_exchange(self) -> Exchange:
        """Return the exchange from the user's folder or the package. Raises: UserError."""
        try:
            return load_exchange(self.exchange, data_folder() / "exchanges")
        except ExchangeError as error:
            raise UserError(str(error), field="exchange") from None

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON; from_dict reverses it."""
        data: dict[str, Any] = to_data(self)
        return data

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Plan":
        """Return the plan of plain data written by this version or an older one.

        A plan without operators, of version 0.2 or older, means the bundled group.

        Raises: UserError.
        """
        values = {key: data[key] for key in data if key not in ("snr_db", "fading")}
        values["voices"] = values.get("voices") or [BUNDLED_GROUP]
        return from_data(cls, {**values, "conditions": to_data(conditions_from_plan_data(data))})


def conditions_from_plan_data(data: Mapping[str, Any]) -> Conditions:
    """Return the conditions within the plain data of a plan.

    Version 0.1 stored only the SNR in dB ("snr_db") and the name of the fading ("fading").
    Raises: UserError.
    """
    if "conditions" in data:
        return from_data(Conditions, data["conditions"], "conditions")
    return Conditions(snr_db=data["snr_db"], fading=parse_fading(data["fading"]))


def compose_item(plan: Plan, number: int) -> Item:
    """Return an item of a plan; number: from 0. Serial numbers in exchanges rise with it.

    Calls, operators and over styles have separate random streams, so that a seed gives the same
    calls and fields with any choice of operators. If a fast engine is available, it speaks the
    first item, because the user is waiting for that.
    """
    seed = _rng(plan.seed, f"item {number}").getrandbits(48)
    wanted = _transmission(
        plan, seed, "", part=plan.part, progress=number, skip_slow_engines=number == 0
    )
    return Item(
        seed=seed,
        message=wanted.message,
        operator=wanted.operator,
        conditions=plan.conditions,
        neighbours=tuple(
            _transmission(
                plan,
                seed,
                f"neighbour {index} ",
                part="over",
                progress=index,
                skip_slow_engines=True,
            )
            for index in range(len(plan.conditions.neighbours))
        ),
    )


def _transmission(
    plan: Plan, seed: int, stream: str, *, part: str, progress: int, skip_slow_engines: bool
) -> Transmission:
    """Return one station's message and operator; stream: start of its random streams' names."""
    rng = _rng(seed, f"{stream}message")
    call = compose_callsign(rng, mix=plan.call_mix)
    operator = draw_operator(
        _rng(seed, f"{stream}operator"),
        plan.voices or None,
        call=call,
        pace=plan.pace,
        skip_slow_engines=skip_slow_engines,
    )
    message = compose_message(
        rng,
        part=part,
        exchange=None if part == "call" else plan.load_exchange(),
        call=call,
        progress=progress,
        over_style=over_style_for(
            operator, _rng(seed, f"{stream}manner"), alternates=plan.alternates
        ),
    )
    # A word bank may lack words; words with the same meaning replace them.
    message = replace(message, words=reword_for_operator(message.words, operator))
    return Transmission(message=message, operator=with_ways_for(operator, message.words))


def _rng(seed: int, stream: str) -> random.Random:
    """Return the generator of one random stream of a seed.

    Python seeds it from the text by SHA-512: the same numbers on every machine and version.
    """
    return random.Random(f"faintcall {seed} {stream}")
