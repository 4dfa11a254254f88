"""The dialogue about one sitting: hear, type, be told.

Every line is a sentence or a row of characters; nothing moves, so that a screen reader can follow.
"""

from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drill.cli.audio_out import Output
    from drill.core.models import Attempt, Clip, FieldScore, Item
    from drill.session.session import Practice

GIVE_UP = "."
STAND = "?"
IN_NOISE = "n"
CLEAN = "c"
STOP = "s"


class Dialogue:
    """The dialogue about one sitting."""

    def __init__(self, practice: "Practice", output: "Output") -> None:
        """Take the sitting and where its sound goes."""
        self._practice = practice
        self._output = output

    def run(self) -> None:
        """Ask item after item. Raises: EOFError at the end of input, KeyboardInterrupt."""
        from drill.session.standing import shown
        from phonetics.callsigns import FICTION

        course = self._practice.course
        print(f"Calls are {FICTION}.")
        again = "Empty: again. " if course.replays else ""
        print(f"Type what you copy, then Enter. {again}. gives up. ? where do I stand.")
        while not self._practice.finished:
            number = self._practice.number + 1
            item, clip = self._practice.present()
            names = ", ".join(shown(f.name, f.optional_if) for f in item.message.fields)
            print(f"\nItem {number} of {course.count}: {names}")
            attempt = self._ask(clip, f"item-{number:03d}")
            if course.feedback and not self._tell(attempt, item, clip, f"item-{number:03d}"):
                return

    def _tell(self, attempt: "Attempt", item: "Item", clip: "Clip", name: str) -> bool:
        """Tell how the answer was; return False where the trainee wants to stop."""
        from drill.items.render import render_clean
        from drill.session.standing import standing

        for line in verdict(attempt):
            print(line)
        print(standing(self._practice))
        if self._practice.course.mode == "training" and not attempt.right:
            # Knowing what it is while hearing it in the noise is what one learns from.
            print("Clean, then the same in the noise again.")
            for sound, which in ((render_clean(item), f"{name}-clean"), (clip, f"{name}-again")):
                self._play(sound, which)
                self._output.wait()
        return self._after(item, clip, name)

    def _play(self, clip: "Clip", name: str) -> None:
        said = self._output.play(clip, name)
        if said:
            print(said)

    def _ask(self, clip: "Clip", name: str) -> "Attempt":
        """Play the item until it is answered; return the attempt, which is kept by then."""
        from drill.core.models import Answer
        from drill.session.standing import standing

        self._play(clip, name)
        replays = 0
        while True:
            text = input("copied: ").strip()
            seconds = self._output.since_end()
            if text == STAND:
                print(standing(self._practice))
            elif text in (IN_NOISE, CLEAN, STOP):
                print(f"{text} is for after the answer. Type what you copied; . alone gives up.")
            elif text:
                break
            elif self._practice.course.replays:
                replays += 1
                self._play(clip, name)
            else:
                print("Nothing is heard twice here. Type what you have, ? for a gap, or . alone.")
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
        from drill.items.render import render_clean

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
