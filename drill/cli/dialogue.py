"""The dialogue of one session in the terminal: play an item, read the answer, show the score.

The output is plain lines of text that never change afterwards, so that a screen reader can follow.
"""

import re
from datetime import UTC, datetime

from drill.cli.audio_out import AudioOutput
from drill.cli.keyboard import discard_typed_ahead
from drill.cli.saving import save_with_retries
from drill.cli.wrapping import print_text, wrap_text
from drill.core.models import Answer, Attempt, Clip, FieldScore, Item
from drill.items.heard_words import hear_words, word_clip
from drill.items.render import render_clean
from drill.scoring.missed_words import missed_words
from drill.session.answer_line import (
    CLEAN,
    DETAILS,
    GIVE_UP,
    NOISE,
    NOT_MADE_OUT,
    STOP,
    WHERE,
    answer_problem,
    answer_text,
    spoken_characters,
    spoken_question,
)
from drill.session.heard_wording import describe_words
from drill.session.session import Session
from drill.session.wording import field_label
from phonetics.callsign_mixes import FICTION_NOTICE

PROMPT = "your copy: "
WORD_KEY = re.compile(r"([1-9]\d?)(c?)")
"""The number of a word plays it alone; with c, clean."""


class Dialogue:
    """The dialogue of one session."""

    def __init__(self, session: Session, output: AudioOutput) -> None:
        """Prepare the dialogue; output: where the audio goes."""
        self._session = session
        self._output = output

    def run(self) -> None:
        """Present item after item. Raises: EOFError at the end of input, KeyboardInterrupt."""
        kind = self._session.kind
        print_text(f"Calls are {FICTION_NOTICE}.")
        print_text(
            f"Type what you copy, then press Enter; use {NOT_MADE_OUT} for a character that you "
            "missed."
        )
        again = f"{NOISE}: hear it again. " if kind.allows_replays else ""
        print_text(
            f"A letter, then Enter: {again}{GIVE_UP}: give up. {WHERE}: where you are. "
            f"{STOP}: stop for now."
        )
        while not self._session.finished:
            number = self._session.number + 1
            item, clip = self._session.present()
            labels = ", ".join(field_label(f.name, f.optional_if) for f in item.message.fields)
            print_text(f"\nItem {number} of {kind.count}: {labels}")
            name = f"item-{number:03d}"
            attempt = self._read_answer(clip, name)
            if attempt is None:
                return
            if kind.gives_feedback and not self._give_feedback(attempt, item, clip, name):
                return

    def _give_feedback(self, attempt: Attempt, item: Item, clip: Clip, name: str) -> bool:
        """Show the score of an answer; return False if the trainee wants to stop."""
        for line in score_lines(attempt):
            print(line)
        print_text(self._session.standing)
        if self._session.kind.repeats_misses and not attempt.right:
            # Trainees learn from hearing an item in noise while they know what it says.
            print_text("Playing the item clean, then again in noise.")
            for sound, which in ((render_clean(item), f"{name}-clean"), (clip, f"{name}-again")):
                self._play(sound, which)
                self._output.wait()
        return self._review(attempt, item, clip, name)

    def _play(self, clip: Clip, name: str) -> None:
        message = self._output.play(clip, name)
        if message:
            print_text(message)

    def _read_answer(self, clip: Clip, name: str) -> Attempt | None:
        """Play the item, read and record its answer, and return the attempt; None to stop.

        Anything typed before the item plays cannot answer it, so it is discarded.
        """
        discard_typed_ahead()
        self._play(clip, name)
        replays = 0
        in_words = ""
        while True:
            line = input(PROMPT).strip() or in_words
            seconds = self._output.seconds_since_end()
            key = line.lower()
            if key == WHERE:
                print_text(self._where(number_to_come=self._session.number + 1))
            elif key == STOP:
                return None
            elif key == NOISE and self._session.kind.allows_replays:
                replays += 1
                print_text(
                    "An item that you hear again no longer counts as right on first hearing."
                )
                self._play(clip, name)
            elif key == NOISE:
                print_text(
                    "Items cannot be replayed in this session. Type what you have, with "
                    f"{NOT_MADE_OUT} for a character that you missed; {GIVE_UP} gives up."
                )
            elif reason := answer_problem(line):
                print_text(reason)
            elif line and not in_words and self._is_in_words(line):
                in_words = line
                print(spoken_question(spoken_characters(line)))
            elif line:
                break
            elif seconds or not self._output.plays:
                again = f" {NOISE} plays it again." if self._session.kind.allows_replays else ""
                print_text(f"Type what you copied.{again}")
        self._output.stop()
        gave_up = line == GIVE_UP
        answer = Answer(
            typed="" if gave_up else answer_text(line),
            seconds=round(seconds, 3),
            replays=replays,
            gave_up=gave_up,
        )
        now = datetime.now(UTC)
        label = f"your answer {answer.typed!r}"
        return save_with_retries(lambda: self._session.answer(answer, now=now), label)

    def _is_in_words(self, line: str) -> bool:
        """Return whether an answer to a call is in code words."""
        return self._session.asks_for_call and bool(spoken_characters(line))

    def _where(self, *, number_to_come: int) -> str:
        """Return where the trainee is: item, result so far, and whether sound plays.

        In a measurement, return only the item: the result so far could bias the trainee.
        """
        count = self._session.kind.count
        if not self._session.kind.gives_feedback:
            return f"{min(number_to_come, count)} of {count}."
        sounding = self._output.plays and not self._output.seconds_since_end()
        return (
            f"Item {min(number_to_come, count)} of {count}. {self._session.standing}"
            f"{' The sound is playing.' if sounding else ''}"
        )

    def _review(self, attempt: Attempt, item: Item, clip: Clip, name: str) -> bool:
        """Let the trainee hear the answered item again; return False to stop."""
        following = "finish" if self._session.finished else "next"
        prompt = (
            f"Enter: {following}. {NOISE}: again in noise. {CLEAN}: clean. {DETAILS}: details. "
            f"{STOP}: stop. "
        )
        while True:
            key = input(wrap_text(prompt)).strip().lower()
            self._output.stop()
            word = WORD_KEY.fullmatch(key)
            if key == NOISE:
                self._play(clip, name)
            elif key == CLEAN:
                self._play(render_clean(item), f"{name}-clean")
            elif key == DETAILS:
                self._print_details(attempt, item)
            elif key == WHERE:
                print_text(self._where(number_to_come=self._session.number))
            elif word and int(word[1]) <= len(clip.words):
                sound = render_clean(item) if word[2] else clip
                self._play(word_clip(sound, int(word[1]) - 1), f"{name}-word-{key}")
            elif key in ("", STOP):
                return key != STOP
            else:
                print_text(f"Unknown key {key!r}; {WHERE} shows where you are.")

    def _print_details(self, attempt: Attempt, item: Item) -> None:
        """Print how each word arrived, and how to hear one alone."""
        missed = missed_words(item.message, attempt.scores)
        for line in describe_words(hear_words(item).words, missed):
            print_text(f"  {line}")
        print_text("To hear a word alone, type its number, such as 1; 1c plays it clean.")


def score_lines(attempt: Attempt) -> list[str]:
    """Return the score of an answer and what was sent and typed, line by line."""
    wrong = "Given up." if attempt.answer.gave_up else "Not right."
    head = "Right." if attempt.right else wrong
    if attempt.answer.replays:
        times = attempt.answer.replays + 1
        head += f" Played {times} times, so it is not right on first hearing."
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
