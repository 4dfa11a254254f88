"""Takes and a fake recogniser for the tests of the sending drill."""

from random import Random

import numpy as np

from drill.core.models import Clip
from drill.recogniser import RecognisedWord
from drill.recogniser.grammar import Grammar
from drill.sending.models import Prompt, Review, Take
from drill.sending.own_station import OwnStation, make_own_station
from drill.sending.prompts import compose_prompt
from drill.sending.review import review_take
from phonetics.exchanges import load_exchange
from phonetics.field_kinds import FIELD_KINDS
from phonetics.message import Field
from phonetics.over_style import draw_over_style

CALL = "E87ABC"
CALL_WORDS = "echo eight seven alfa bravo charlie"
CALL_WITH_WRONG_B = "echo eight seven alfa delta charlie"
RATE_HZ = 16_000


class FakeRecogniser:
    """Returns given words for any clip, one list for each pass; each word takes 0.3 s."""

    name, version, unsure_below = "fake", "1", 0.1

    def __init__(self, *passes: str, confidence: float = 0.9) -> None:
        self._passes, self._confidence = list(passes), confidence

    def problem(self) -> str:
        return ""

    def recognise(self, clip: Clip, grammar: Grammar) -> tuple[RecognisedWord, ...]:
        words = self._passes.pop(0) if len(self._passes) > 1 else self._passes[0]
        return tuple(
            RecognisedWord(
                say=say,
                start_s=index * 0.4,
                end_s=index * 0.4 + 0.3,
                confidence=self._confidence,
            )
            for index, say in enumerate(words.split())
        )


def own_station(exchange_name: str = "serial") -> OwnStation:
    return make_own_station(CALL, load_exchange(exchange_name))


def call_prompt(call: str = CALL) -> Prompt:
    """Return a prompt that asks for a call and nothing else."""
    field = Field(name="call", kind="call", text=call)
    return Prompt(kind="call", seed=0, call=call, exchange="", fields=(field,), words=())


def spoken_exchange(exchange_name: str, seed: int) -> tuple[Prompt, list[str]]:
    """Return a prompt for an exchange, and the words of an operator with a random over style."""
    rng = Random(seed)
    prompt = compose_prompt("exchange", own_station(exchange_name), seed)
    over_style = draw_over_style(rng)
    words = [
        word.say
        for field in prompt.fields
        for word in FIELD_KINDS[field.kind].say(field.text, over_style, rng, field.name)
    ]
    return prompt, words


def noise_clip(seconds: float = 6.0) -> Clip:
    """Return 2.6 s of noise, as long as six words of FakeRecogniser, then near silence."""
    time_s = np.arange(round(RATE_HZ * seconds)) / RATE_HZ
    noise = np.random.default_rng(1).standard_normal(len(time_s))
    samples = np.where(time_s < 2.6, 0.05, 1e-5) * noise
    return Clip(samples=samples.astype(np.float32), rate_hz=RATE_HZ)


def review_words(*passes: str, prompt: Prompt | None = None, confidence: float = 0.9) -> Review:
    """Return the review of a take in which each recogniser pass finds the given words."""
    take = Take(prompt=prompt or call_prompt(), clip=noise_clip())
    return review_take(take, FakeRecogniser(*passes, confidence=confidence))
