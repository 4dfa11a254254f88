"""faintcall transcribe: prints the words that the recogniser copies from a sound file."""

import argparse
from pathlib import Path

from drill.core.audio_files import read_audio
from drill.core.errors import UserError
from drill.core.paths import data_folder
from drill.recogniser.grammar import Grammar
from drill.recogniser.language import call_grammar, message_grammar
from drill.recogniser.own.engine import OwnRecogniser, Recognition
from drill.recogniser.own.free_words import free_word_grammar
from drill.sending.enrolled_voices import enrolled_recogniser
from phonetics.exchanges import ExchangeError, load_exchange

_EPILOG = """The recogniser knows code words, digits and the words of the drills, through an SSB
channel as from a microphone. It copies best with --expect call or over, because fewer words can
follow each other. A confidence is the share of right answers among results of its kind; do not
rely on results below 50 %. Voices unlike the synthetic ones in its training are copied less well.

examples:
  faintcall transcribe received.wav
  faintcall transcribe received.wav --expect over --exchange zone-amateur
  faintcall transcribe notes.flac --expect words
  faintcall transcribe mine.wav --voice mine
"""
_EXPECTED = ("call", "over", "words")


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall transcribe`."""
    command.description = "Print the words that the recogniser copies from a WAV or FLAC file."
    command.epilog = _EPILOG
    command.add_argument("file", type=Path, metavar="FILE", help="sound file")
    command.add_argument(
        "--expect", choices=_EXPECTED, default="call",
        help="what is said: a call, a whole over, or any known words (default: %(default)s)",
    )  # fmt: skip
    command.add_argument(
        "--exchange", metavar="NAME", default="serial",
        help="exchange of an over (default: %(default)s)",
    )  # fmt: skip
    command.add_argument(
        "--voice", metavar="NAME",
        help="the speaker's voice, if faintcall enrol has learnt it (default: none)",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Print what is copied, word by word."""
    clip = read_audio(options.file)
    recogniser = OwnRecogniser() if options.voice is None else enrolled_recogniser(options.voice)
    result = recogniser.transcribe(clip, _grammar(options.expect, options.exchange))
    print_recognition(result)
    if options.voice is not None:
        print(f"\nCopied with the learnt voice {options.voice}.")
    return 0


def _grammar(expected: str, exchange: str) -> Grammar:
    """Return the grammar of what is expected. Raises: UserError for an unknown exchange."""
    if expected == "call":
        return call_grammar(alternates=True)
    if expected == "words":
        return free_word_grammar()
    try:
        rules = load_exchange(exchange, data_folder() / "exchanges")
    except ExchangeError as error:
        raise UserError(str(error), field="exchange") from None
    return message_grammar(rules, alternates=True)


def print_recognition(result: Recognition) -> None:
    """Print the characters, the confidence, and a line for each word with its rivals."""
    if not result.units:
        print("nothing copied")
        return
    text = f"{result.text}  " if result.text else ""
    print(f"{text}(all of it right: {result.confidence:.0%})\n")
    print(f"{'from s':>7} {'to s':>7}  {'word':<14}{'is':<4}{'right':>6}  perhaps")
    for unit in result.units:
        word, sign = unit.word, unit.name if len(unit.name) == 1 else ""
        rivals = ", ".join(
            f"{rival.name} {rival.probability:.0%}"
            for rival in unit.rivals
            if rival.probability >= 0.01
        )
        print(
            f"{word.start_s:7.2f} {word.end_s:7.2f}  {word.say:<14}{sign:<4}"
            f"{unit.confidence:6.0%}  {rivals}".rstrip()
        )
