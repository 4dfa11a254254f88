"""The dialogue of one session in the terminal: play an item, read the answer, show the score.

The output is plain lines of text that never change afterwards, so that a screen reader can follow.
"""

from datetime import UTC, datetime

from drill.cli.audio_out import AudioOutput
from drill.cli.keyboard import discard_typed_ahead, read_key
from drill.cli.saving import save_with_retries
from drill.core.models import Answer, Attempt, Clip, FieldScore, Item
from drill.items.render import render_clean
from drill.session.answer_line import answer_problem, answer_text
from drill.session.session import Session
from drill.session.wording import field_label
from phonetics.callsign_mixes import FICTION_NOTICE

GIVE_UP = "."
STANDING = "?"
IN_NOISE = "n"
CLEAN = "c"
STOP = "s"
PROMPT = "your copy: "


class Dialogue:
    """The dialogue of one session."""

    def __init__(self, session: Session, output: AudioOutput) -> None:
        """Prepare the dialogue; output: where the audio goes."""
        self._session = session
        self._output = output

    def run(self) -> None:
        """Present item after item. Raises: EOFError at the end of input, KeyboardInterrupt."""
        kind = self._session.kind
        print(f"Calls are {FICTION_NOTICE}.")
        print(
            f"Type what you copy, then press Enter. '{GIVE_UP}' gives up, '{STANDING}' shows your "
            "result so far."
        )
        if kind.allows_replays:
            print(
                "Enter on an empty line plays the item again and leaves it out of the statistics."
            )
        while not self._session.finished:
            number = self._session.number + 1
            item, clip = self._session.present()
            labels = ", ".join(field_label(f.name, f.optional_if) for f in item.message.fields)
            print(f"\nItem {number} of {kind.count}: {labels}")
            name = f"item-{number:03d}"
            attempt = self._read_answer(clip, name)
            if kind.gives_feedback and not self._give_feedback(attempt, item, clip, name):
                return

    def _give_feedback(self, attempt: Attempt, item: Item, clip: Clip, name: str) -> bool:
        """Show the score of an answer; return False if the trainee wants to stop."""
        for line in score_lines(attempt):
            print(line)
        print(self._session.standing)
        if self._session.kind.repeats_misses and not attempt.right:
            # Trainees learn from hearing an item in noise while they know what it says.
            print("Playing the item clean, then again in noise.")
            for sound, which in ((render_clean(item), f"{name}-clean"), (clip, f"{name}-again")):
                self._play(sound, which)
                self._output.wait()
        return self._offer_replays(item, clip, name)

    def _play(self, clip: Clip, name: str) -> None:
        message = self._output.play(clip, name)
        if message:
            print(message)

    def _read_answer(self, clip: Clip, name: str) -> Attempt:
        """Play the item, read and record its answer, and return the attempt.

        Anything typed before the item plays cannot answer it, so it is discarded.
        """
        discard_typed_ahead()
        self._play(clip, name)
        replays = 0
        while True:
            line = input(PROMPT).strip()
            seconds = self._output.seconds_since_end()
            typed = answer_text(line)
            if line == STANDING:
                print(self._session.standing)
            elif reason := answer_problem(line):
                print(reason)
            elif typed:
                break
            elif self._session.kind.allows_replays:
                replays += 1
                self._play(clip, name)
            else:
                print(
                    "Items cannot be replayed in this session. Type what you have, with '?' for a "
                    f"character that you missed; '{GIVE_UP}' gives up."
                )
        self._output.stop()
        gave_up = line == GIVE_UP
        answer = Answer(
            typed="" if gave_up else typed,
            seconds=round(seconds, 3),
            replays=replays,
            gave_up=gave_up,
        )
        now = datetime.now(UTC)
        label = f"your answer {answer.typed!r}"
        return save_with_retries(lambda: self._session.answer(answer, now=now), label)

    def _offer_replays(self, item: Item, clip: Clip, name: str) -> bool:
        """Replay the answered item on request; return False if the trainee wants to stop."""
        following = "finish" if self._session.finished else "next"
        prompt = f"Enter: {following}. n: again in noise. c: clean. s: stop. "
        while True:
            key = read_key(prompt, ("", IN_NOISE, CLEAN, STOP))
            self._output.stop()
            if key == IN_NOISE:
                self._play(clip, name)
            elif key == CLEAN:
                self._play(render_clean(item), f"{name}-clean")
            else:
                return key != STOP


def score_lines(attempt: Attempt) -> list[str]:
    """Return the score of an answer and what was sent and typed, line by line."""
    wrong = "Given up." if attempt.answer.gave_up else "Not right."
    head = "Right." if attempt.right else wrong
    if attempt.answer.replays:
        times = attempt.answer.replays + 1
        head += f" Played {times} times, so it is left out of the statistics."
    width = max(len(score.name) for score in attempt.scores)
    lines = [head]
    for score in attempt.scores:
        lines += _field_lines(score, width)
    return lines


def _field_lines(score: FieldScore, width: int) -> list[str]:
    name = f"{score.name:{width}}"
    if score.right:
        remark = "" if score.typed else ", left out"
        return [f"  {name}  right: {score.sent}{remark}"]
    blank = " " * width
    sent = " ".join(pair.sent or "-" for pair in score.pairs)
    typed = " ".join(pair.typed or "-" for pair in score.pairs)
    marks = " ".join(" " if pair.sent == pair.typed else "^" for pair in score.pairs).rstrip()
    lines = [
        f"  {name}  sent   {sent}",
        f"  {blank}  typed  {typed}",
        f"  {blank}         {marks}",
    ]
    if score.hint:
        lines.append(f"  {blank}  Note: {score.hint}.")
    return lines
