"""First steps: a clear call, then easy ones, then weaker ones."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drill.core.models import Attempt, Item
from drill.core.text_blocks import Passage
from drill.records.store import Store
from drill.session.first_limit import find_first_limit
from drill.session.first_limit_wording import first_limit_sentence
from drill.session.kinds.base import SessionKind, item_at_snr
from drill.session.options import PLAN_OPTIONS

EASY_DB, WEAKEST_DB = 15.0, -3.0
"""SNR of the easy items and of the last one, in dB in 3 kHz."""
EASY_ITEMS = 3


@dataclass(frozen=True, kw_only=True)
class FirstSteps(SessionKind):
    """The first item has no noise, three are easy, and the others become weaker step by step."""

    name = "first-steps"
    stored_name = "first-steps"
    title = "First steps"
    sentence = "A clear call, then easy ones, then weaker ones, to find where it gets hard."
    default_count = 12
    options = PLAN_OPTIONS
    repeats_misses = True

    def snr_db(self, number: int) -> float | None:
        """Return the SNR of an item, counted from 0; None for the first, which has no noise."""
        if number == 0:
            return None
        weaker = self.count - 1 - EASY_ITEMS
        step = max(0, number - EASY_ITEMS)
        share = step / weaker if weaker > 0 else 0.0
        return round(EASY_DB + share * (WEAKEST_DB - EASY_DB), 1)

    def description(self) -> str:
        """Return range of SNR, conditions and seed in a few words."""
        path = self.plan.conditions.sentence_without_snr
        last_db = self.snr_db(max(1, self.count - 1))
        return (
            f"the first without noise, then from {EASY_DB:g} to {last_db:g} dB in 3 kHz, {path}, "
            f"seed {self.plan.seed}"
        )

    def item(self, number: int, attempts: Sequence[Attempt]) -> Item:
        """Return the item at its SNR."""
        snr_db, item = self.snr_db(number), self.spoken_item(number)
        if snr_db is None:
            return replace(item, conditions=replace(item.conditions, snr_db=None))
        return item_at_snr(item, snr_db)

    def result_blocks(self, attempts: Sequence[Attempt], store: Store) -> list[Passage]:
        """Return where it got hard; empty with too few items."""
        limit = find_first_limit(attempts)
        return [] if limit is None else [Passage(sentences=(first_limit_sentence(limit),))]
