"""The end of a practice session in the terminal: the week before, and what costs most."""

import re
from datetime import UTC, datetime

from drill.cli.audio_out import AudioOutput
from drill.cli.wrapping import print_text, wrap_text
from drill.core.models import Clip
from drill.items.heard_words import word_clip
from drill.items.plan import Plan
from drill.items.render import render, render_clean
from drill.records.store import Store
from drill.session.answer_line import CLEAN
from drill.session.costliest import CostlyLabel, costliest_labels
from drill.session.costliest_wording import costly_mistake, costly_name, costly_sentence
from drill.session.ending_wording import week_note, week_sentence
from drill.session.weeks import compare_weeks

PRACTISE = "p"
_LABEL_KEY = re.compile(rf"([1-9])({CLEAN}?)")


def print_week(plan: Plan, store: Store) -> None:
    """Print how this week compares with the week before; nothing with too few items.

    plan: of the session that has ended.
    """
    week = compare_weeks(store, plan, now=datetime.now(UTC))
    if week is not None:
        print_text(f"{week_sentence(week)} {week_note(week)}")


def review_costliest(store: Store, output: AudioOutput) -> bool:
    """Print the costliest labels and play examples; return True if the trainee wants to practise
    them.

    If no label is known to cost more than the average, print nothing and return False.
    Raises: EOFError at the end of input.
    """
    labels = costliest_labels(store)
    if not labels:
        return False
    print_text("\nWhat cost you most")
    for number, costly in enumerate(labels, 1):
        mistake = costly_mistake(costly)
        also = f"; {mistake}" if mistake else ""
        print_text(f"  {number}. {costly_name(costly)}: {costly_sentence(costly)}{also}")
    while True:
        key = input(
            wrap_text(
                f"1: hear it in noise. 1{CLEAN}: clean. {PRACTISE}: practise these. Enter: finish. "
            )
        )
        output.stop()
        key = key.strip().lower()
        chosen = _LABEL_KEY.fullmatch(key)
        if chosen and int(chosen[1]) <= len(labels):
            costly = labels[int(chosen[1]) - 1]
            message = output.play(
                _example(store, costly, clean=bool(chosen[2])), f"costliest-{key}"
            )
            if message:
                print_text(message)
        elif key in ("", PRACTISE):
            return key == PRACTISE
        else:
            print_text(f"Unknown key {key!r}.")


def _example(store: Store, costly: CostlyLabel, *, clean: bool) -> Clip:
    """Return the word of an example alone."""
    example = costly.example
    item = store.attempts(example.session, first=example.number)[0].item
    return word_clip(render_clean(item) if clean else render(item), example.word)
