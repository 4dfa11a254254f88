"""Clips with known words for measuring a recogniser: one file a set, 8 kHz.

A set is NAME.npz with `samples` (int16, all clips one after the other), `ends` (where each ends)
and `about` (JSON: for each clip the speaker, the kind of text and the words). Calls are composed at
random and belong to nobody. Human speech comes from Debian packages and is neither trained on nor
shipped: asterisk-core-sounds-en-g722 (one talker's code words, Allison Smith, CC-BY-SA-3.0) and
codec2-examples (radio operators, LGPL-2.1).
"""

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from random import Random

import numpy as np

from drill.core.arrays import resample
from drill.core.models import Clip
from phonetics.callsign_mixes import compose_callsign
from phonetics.exchanges import exchange_names, load_exchange
from phonetics.message import Word
from phonetics.over_style import draw_over_style
from phonetics.phrases import compose_message
from tests.tools.recogniser_sweep import speakers

RATE_HZ = 8_000
PEAK = 0.8
EXCHANGES_LEFT_OUT = frozenset({"five-part"})
"""Exchanges that cannot be scored: they contain a second call."""


@dataclass(frozen=True, kw_only=True)
class Labelled:
    """What is said in a clip.

    kind: call, word or over. call: the characters of the call, "" for single words. exchange: name
    of an over's exchange. fields: name and text of each field of an over.
    """

    speaker: str
    kind: str
    call: str
    words: tuple[str, ...]
    exchange: str = ""
    fields: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class LabelledClip:
    """A clip of a set with its label."""

    label: Labelled
    clip: Clip


Speak = Callable[[tuple[Word, ...], str], Clip]


def calls(speak: Speak, voices: tuple[str, ...], count: int, seed: int) -> Iterator[LabelledClip]:
    """Yield composed calls without strokes; the voices take turns."""
    rng = Random(f"recogniser test calls {seed}")
    for number in range(count):
        call = compose_callsign(rng, mix="world", strokes=0.0)
        style = draw_over_style(rng, alternates=0.0) if number % 2 else draw_over_style(rng)
        message = compose_message(
            rng, part="call", exchange=None, call=call, progress=0, over_style=style
        )
        voice = voices[number % len(voices)]
        label = Labelled(
            speaker=voice, kind="call", call=call.text,
            words=tuple(word.say for word in message.words),
        )  # fmt: skip
        yield LabelledClip(label=label, clip=speak(message.words, voice))


def overs(speak: Speak, voices: tuple[str, ...], count: int, seed: int) -> Iterator[LabelledClip]:
    """Yield whole overs, each with a call and an exchange."""
    rng = Random(f"recogniser test overs {seed}")
    exchanges = [load_exchange(name) for name in exchange_names() if name not in EXCHANGES_LEFT_OUT]
    for number in range(count):
        exchange = exchanges[number % len(exchanges)]
        call = compose_callsign(rng, mix="world", strokes=0.0)
        message = compose_message(
            rng, part="over", exchange=exchange, call=call, progress=rng.randint(1, 1500),
            over_style=draw_over_style(rng),
        )  # fmt: skip
        voice = voices[number % len(voices)]
        label = Labelled(
            speaker=voice, kind="over", call=call.text, exchange=exchange.name,
            words=tuple(word.say for word in message.words),
            fields=tuple((field.name, field.text) for field in message.fields),
        )  # fmt: skip
        yield LabelledClip(label=label, clip=speak(message.words, voice))


def human_calls(count: int, seed: int) -> Iterator[LabelledClip]:
    """Yield calls joined from one person's recorded words, with pauses of 0.08 to 0.35 s."""
    rng = Random(f"recogniser test human {seed}")
    for _ in range(count):
        call = compose_callsign(rng, mix="world", strokes=0.0)
        gaps = [rng.uniform(0.08, 0.35) for _ in call.text]
        words = tuple(speakers.human_word_text(character) for character in call.text)
        label = Labelled(speaker="human", kind="call", call=call.text, words=words)
        yield LabelledClip(label=label, clip=speakers.human_joined(call.text, gaps))


def human_words() -> Iterator[LabelledClip]:
    """Yield the person's 36 code words and figures, one in each clip."""
    for character in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789":
        words = (speakers.human_word_text(character),)
        label = Labelled(speaker="human", kind="word", call=character, words=words)
        yield LabelledClip(label=label, clip=speakers.human_joined(character, [0.1]))


def write_set(clips: Iterator[LabelledClip], path: Path) -> int:
    """Write a set; return the number of clips."""
    parts, about = [], []
    for one in clips:
        sound = np.asarray(resample(one.clip.samples.astype(np.float64), one.clip.rate_hz, RATE_HZ))
        parts.append((sound / np.abs(sound).max() * PEAK * 32767).astype("<i2"))
        about.append(asdict(one.label))
    ends = np.cumsum([len(part) for part in parts])
    path.parent.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(path, samples=np.concatenate(parts), ends=ends, about=json.dumps(about))
    return len(parts)


def read_set(path: Path) -> list[LabelledClip]:
    """Return the clips of a set."""
    with np.load(path) as data:
        samples, ends, about = data["samples"], data["ends"], json.loads(str(data["about"]))
    starts = [0, *ends[:-1]]
    return [
        LabelledClip(
            label=Labelled(**{**row, "words": tuple(row["words"]),
                              "fields": tuple(tuple(field) for field in row["fields"])}),
            clip=Clip(samples=(samples[a:b] / 32768).astype(np.float32), rate_hz=RATE_HZ),
        )
        for a, b, row in zip(starts, ends, about, strict=True)
    ]  # fmt: skip


def known_sets(count: int, seed: int) -> Mapping[str, Callable[[], Iterator[LabelledClip]]]:
    """Return functions that make the sets, by name. count: calls in a set."""
    s = speakers
    makers = {
        "human": lambda: human_calls(count, seed),
        "human-words": human_words,
        "unseen-engine": lambda: calls(s.piper(), s.PIPER_VOICES, count, seed),
        "hts-validation": lambda: calls(s.festival(), s.HTS_VOICES, count, seed + 2),
        "diphone": lambda: calls(s.flite(), s.FLITE_VOICES, count, seed),
        "studio-unseen": lambda: calls(s.product("studio"), s.STUDIO_TEST_VOICES, count, seed),
        "studio-validation": lambda: calls(
            s.product("studio"), s.STUDIO_VALIDATION_VOICES, count, seed + 1
        ),
        "natural": lambda: calls(s.product("natural"), s.roster("natural"), count, seed),
        "formant": lambda: calls(s.product("formant"), s.roster("formant"), count, seed),
        "natural-overs": lambda: overs(s.product("natural"), s.roster("natural"), count, seed),
        "studio-overs": lambda: overs(s.product("studio"), s.STUDIO_TEST_VOICES, count, seed),
    }
    return makers
