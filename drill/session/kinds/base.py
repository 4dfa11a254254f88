"""The base class of all kinds of session.

A kind of session is one class in one file of this package. Its class attributes describe the kind;
an instance is the set-up of one session, which together with the answers determines every item. To
add a kind, write a subclass and pass it to `drill.session.kinds.register`; the terminal, the page
and the record then know it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, ClassVar, Self

from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.models import Attempt, Item
from drill.core.text_blocks import Passage
from drill.items.plan import Plan, compose_item
from drill.records.store import Store
from drill.session.absent_voices import absent_voices_notice
from drill.session.attempts import tally_attempts
from drill.session.blocks import MeasurementBlock
from drill.session.options import PLAN_OPTIONS, SNR_OPTIONS, SessionOptions, plan_from_options
from drill.session.wording import score_sentence


@dataclass(frozen=True, kw_only=True)
class SessionKind:
    """Set-up of one session. Subclasses are the kinds of session.

    The words of an item never depend on answers, so items can be synthesised ahead; only the SNR
    may depend on them. Every item is a function of the set-up and of the answers before it, so an
    interrupted session continues exactly as if it had never stopped.

    A subclass sets `name`, `stored_name`, `title` and `sentence`, and overrides what differs from a
    session under fixed conditions. If it adds fields, it also overrides `create`, `to_dict` and
    `from_dict`.
    """

    name: ClassVar[str]
    """Name of the kind in commands and on the page: lower case, "-" between words."""
    stored_name: ClassVar[str]
    """Name of the kind in records and exports. It never changes, because old records contain it."""
    title: ClassVar[str]
    """Heading for lists."""
    sentence: ClassVar[str]
    """One sentence for lists that says what happens in a session of this kind."""
    activity: ClassVar[str] = "practise"
    """What the trainee does: "practise", "measure" or "compare". Screens group kinds by it."""
    default_count: ClassVar[int] = 20
    """Number of items if the user gives none."""
    options: ClassVar[frozenset[str]] = PLAN_OPTIONS | SNR_OPTIONS
    """Names of the fields of SessionOptions that this kind takes."""
    allows_replays: ClassVar[bool] = True
    """True if an item can be heard again before it is answered."""
    gives_feedback: ClassVar[bool] = True
    """True if the score is shown after each answer, and the item can then be heard again. False if
    every screen keeps the scores hidden until the session is finished."""
    repeats_misses: ClassVar[bool] = False
    """True if a wrong answer is followed by the item without noise and then in noise again."""

    plan: Plan

    @classmethod
    def create(cls, options: SessionOptions, store: Store) -> Self:
        """Return the set-up of a new session.

        store: the record, for kinds that depend on earlier sessions.
        Raises: UserError for an option that is wrong or that this kind does not take; NoVoice.
        """
        cls.check_options(options)
        return cls(
            plan=plan_from_options(options, default_count=cls.default_count, prefetched=True)
        )

    @classmethod
    def from_dict(cls, plan: Plan, data: Mapping[str, Any]) -> Self:
        """Return the set-up from the plan and the data that `to_dict` wrote."""
        return cls(plan=plan)

    def to_dict(self) -> dict[str, Any]:
        """Return the part of the set-up that is not the plan, as data for JSON."""
        return {}

    @classmethod
    def check_options(cls, options: SessionOptions) -> None:
        """Raise UserError, kind "not_taken", for an option that this kind does not take."""
        for name in sorted(options.given - cls.options):
            if name in SNR_OPTIONS:
                raise UserError(
                    f"a session of the kind {cls.name!r} sets the SNR by your answers; leave out "
                    "the SNR and the power",
                    field=name,
                    kind="not_taken",
                )
            raise UserError(
                f"a session of the kind {cls.name!r} does not take {name!r}; leave it out",
                field=name,
                kind="not_taken",
            )

    @classmethod
    def sets_snr(cls) -> bool:
        """Return True if the kind chooses the SNR of each item by the answers so far."""
        return not SNR_OPTIONS & cls.options

    @property
    def count(self) -> int:
        """Largest number of items in the session, warm-up included."""
        return self.plan.count

    @property
    def warm_ups(self) -> int:
        """How many of the first items are a warm-up and do not count."""
        return 0

    @property
    def can_end_early(self) -> bool:
        """True if the answers can finish the session before `count` items."""
        return False

    def spoken_item(self, number: int) -> Item:
        """Return item `number`, counted from 0, before its SNR is chosen.

        Its words and its operator are final, which is all that synthesis needs.
        """
        return compose_item(self.plan, number)

    @classmethod
    def is_drawn_at_random(cls, number: int) -> bool:
        """Return False if item `number`, counted from 0, is chosen by the trainee's mistakes."""
        return True

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return item `number` as it is played; attempts at later items are ignored."""
        return self.spoken_item(number)

    def finished(self, attempts: Sequence[Attempt]) -> bool:
        """Return True if no item is left."""
        return len(attempts) >= self.count

    def description(self) -> str:
        """Return conditions and seed in a few words."""
        conditions = self.plan.conditions
        if self.sets_snr():
            path = conditions.sentence_without_snr
            return f"SNR set by your answers, {path}, seed {self.plan.seed}"
        return f"{conditions.sentence}, seed {self.plan.seed}"

    def announcement(self) -> str:
        """Return the introduction: number of items, description, operators that cannot speak."""
        warm_up = f", the first {self.warm_ups} to warm up" if self.warm_ups else ""
        sentence = f"{plural(self.count, 'item')}{warm_up}: {self.description()}."
        return f"{sentence} {absent_voices_notice(self.plan.voices)}".rstrip()

    def standing(self, attempts: Sequence[Attempt]) -> str:
        """Return a sentence with the result so far and the number of items left."""
        return score_sentence(tally_attempts(attempts), self.count)

    def result_blocks(self, attempts: Sequence[Attempt], store: Store) -> list[Passage]:
        """Return the result of a finished session; empty if `standing` says it all.

        attempts: at least one. store: the record, this session included.
        """
        return []

    def measurement_block(
        self, session: str, started: datetime, attempts: Sequence[Attempt]
    ) -> MeasurementBlock | None:
        """Return the session as a block for threshold and trend, None if it is not a measurement.

        session, started: identity and start of the session in the record.
        """
        return None


def item_at_snr(item: Item, snr_db: float) -> Item:
    """Return the item at another SNR, in dB in 3 kHz."""
    return replace(item, conditions=replace(item.conditions, snr_db=snr_db))
