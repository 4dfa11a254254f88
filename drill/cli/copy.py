"""faintcall copy: the drill in the terminal.

Every line is a sentence or a row of characters; nothing moves, so that a screen reader can follow.
"""

import argparse
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from drill.cli.caution import caution
from drill.cli.options import Commands, add_plan, plan_from

if TYPE_CHECKING:
    from drill.cli.outputs import Output
    from drill.items import Attempt, Clip, FieldScore, Item
    from drill.plan import Plan
    from drill.practice import Practice, Tally
    from drill.records.store import Store

GIVE_UP = "."
STAND = "?"
IN_NOISE = "n"
CLEAN = "c"
STOP = "s"

KEYS = """while you copy:
  type what you copied, in one line, and press Enter; case and spaces do not matter
  ?  in place of a character that you could not make out
  Enter on an empty line   hear it again (takes a fifth of the item's points)
  .  and Enter             give up
  ?  and Enter             where do I stand
after the answer:
  Enter   next item          n   hear it again in the noise
  c       hear it clean      s   stop
Ctrl-C stops at any time; every answer is kept.

examples:
  faintcall copy
  faintcall copy --items 10 --snr 3 --fading mid-quiet
  faintcall copy --part over --exchange zone-amateur --pace 1.2
  faintcall copy --audio-to DIR       write each item as a file, where there is no sound card
"""


def add(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the command."""
    command = commands.add_parser(
        "copy",
        help="hear fictional stations in noise and type what you copy",
        description="Hear fictional stations in noise, type what you copy, see what was sent.",
        epilog=KEYS,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    add_plan(command)
    command.add_argument(
        "--audio-to",
        type=Path,
        metavar="DIR",
        help="write each item as a WAV file there instead of playing it",
    )
    command.add_argument(
        "--continue",
        dest="resume",
        action="store_true",
        help="go on with the last sitting where it was stopped; the other choices are its own",
    )
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the drill until its end, the end of input, or Ctrl-C."""
    from drill.cli.outputs import Files, Speaker
    from drill.folders import record_file
    from drill.records.store import Store

    plan = None if options.resume else plan_from(options)
    output = Files(options.audio_to) if options.audio_to else Speaker()
    with Store(record_file()) as store:
        practice = _continued(store) if plan is None else _begun(plan, store)
        drill = Drill(practice, output)
        try:
            caution(store)
            drill.run()
        except (KeyboardInterrupt, EOFError):
            print()
        finally:
            output.stop()
            practice.close()
        if not practice.finished:
            print(stand(practice.tally, practice.plan.count))
            if practice.tally.answered:
                print("Your answers are kept. Go on with: faintcall copy --continue")
    return 0


def _begun(plan: "Plan", store: "Store") -> "Practice":
    from drill.practice import Practice

    return Practice.begin(plan, store, now=datetime.now(UTC))


def _continued(store: "Store") -> "Practice":
    """Return the newest sitting, if items of it are left. Raises: UserError."""
    from drill.errors import UserError
    from drill.plan import Plan
    from drill.practice import Practice

    newest = store.sittings(1)
    if not newest:
        raise UserError("there is no sitting to go on with; start one with: faintcall copy")
    sitting = newest[0]
    plan = Plan.from_dict(sitting.plan)
    if sitting.answered >= plan.count:
        raise UserError("the last sitting is finished; start a new one with: faintcall copy")
    return Practice(plan, store, identity=sitting.id, done=sitting.answered)


def stand(tally: "Tally", count: int) -> str:
    """Return where the trainee stands, in a sentence."""
    if not tally.answered:
        return "No answer yet."
    return (
        f"{tally.right} of {tally.answered} logged right, {tally.characters_right} of "
        f"{tally.characters_sent} characters, {tally.points / tally.answered:.0f} points an item; "
        f"{count - tally.answered} to go."
    )


class Drill:
    """The dialogue about one sitting."""

    def __init__(self, practice: "Practice", output: "Output") -> None:
        """Take the sitting and where its sound goes."""
        self._practice = practice
        self._output = output

    def run(self) -> None:
        """Ask item after item. Raises: EOFError at the end of input, KeyboardInterrupt."""
        from drill.sheet import conditions_sentence
        from phonetics.callsigns import FICTION

        plan = self._practice.plan
        print(f"{plan.count} items: {conditions_sentence(plan)}.")
        print(f"Calls are {FICTION}.")
        print("Type what you copy, then Enter. Empty: again. . gives up. ? where do I stand.")
        while not self._practice.finished:
            number = self._practice.number + 1
            item, clip = self._practice.present()
            names = ", ".join(_shown(f.name, f.optional_if) for f in item.message.fields)
            print(f"\nItem {number} of {plan.count}: {names}")
            attempt = self._ask(clip, f"item-{number:03d}")
            for line in verdict(attempt):
                print(line)
            print(stand(self._practice.tally, plan.count))
            if not self._after(item, clip, f"item-{number:03d}"):
                return

    def _play(self, clip: "Clip", name: str) -> None:
        said = self._output.play(clip, name)
        if said:
            print(said)

    def _ask(self, clip: "Clip", name: str) -> "Attempt":
        """Play the item until it is answered; return the attempt, which is kept by then."""
        from drill.items import Answer

        self._play(clip, name)
        replays = 0
        while True:
            text = input("copied: ").strip()
            seconds = self._output.since_end()
            if text == STAND:
                print(stand(self._practice.tally, self._practice.plan.count))
            elif text:
                break
            else:
                replays += 1
                self._play(clip, name)
        self._output.stop()
        gave_up = text == GIVE_UP
        answer = Answer(
            text="" if gave_up else text,
            seconds=round(seconds, 3),
            replays=replays,
            gave_up=gave_up,
        )
        return self._practice.answer(answer, now=datetime.now(UTC))

    def _after(self, item: "Item", clip: "Clip", name: str) -> bool:
        """Let the item be heard again; return False where the trainee wants to stop."""
        from drill.render import render_clean

        what = "finish" if self._practice.finished else "next"
        while True:
            prompt = f"Enter: {what}. n: again in the noise. c: clean. s: stop. "
            choice = input(prompt).strip().lower()
            self._output.stop()
            if choice == IN_NOISE:
                self._play(clip, name)
            elif choice == CLEAN:
                self._play(render_clean(item), f"{name}-clean")
            elif choice in ("", STOP):
                return choice != STOP
            else:
                print(f"{choice!r} is none of them.")


def _shown(name: str, optional: str) -> str:
    return f"{name} (may be left out if {optional})" if optional else name


def verdict(attempt: "Attempt") -> list[str]:
    """Return what was sent and typed, line by line."""
    wrong = "Given up." if attempt.answer.gave_up else "Not right."
    head = "Logged right." if attempt.right else wrong
    if attempt.answer.replays:
        head += f" Heard {attempt.answer.replays + 1} times."
    width = max(len(score.name) for score in attempt.scores)
    lines = [head]
    for score in attempt.scores:
        lines += _field_lines(score, width)
    return lines


def _field_lines(score: "FieldScore", width: int) -> list[str]:
    name = f"{score.name:{width}}"
    if score.right:
        how = "" if score.copied else ", left out"
        return [f"  {name}  right: {score.sent}{how}"]
    blank = " " * width
    sent = " ".join(pair.sent or "-" for pair in score.pairs)
    typed = " ".join(pair.copied or "-" for pair in score.pairs)
    marks = " ".join(" " if pair.sent == pair.copied else "^" for pair in score.pairs).rstrip()
    lines = [
        f"  {name}  sent   {sent}",
        f"  {blank}  typed  {typed}",
        f"  {blank}         {marks}",
    ]
    if score.hint:
        lines.append(f"  {blank}  Note: {score.hint}.")
    return lines
