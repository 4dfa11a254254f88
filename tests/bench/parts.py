"""CPU time of single parts, each beside a reference that runs in the same process.

The reference is another way to the same result, or the same work on less data, so that the ratio of
the two means something on any computer.
"""

import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from statistics import median
from unittest.mock import patch

import numpy as np
from onnx import load_model_from_string
from onnx.reference import ReferenceEvaluator

from drill.core.models import Clip
from drill.items.plan import Plan, compose_item
from drill.items.render import synthesise_item
from drill.radio.channel import simulate
from drill.radio.presets import load_preset
from drill.voices import speak_uncached
from drill.voices.engines import worker_process
from drill.voices.engines.natural.model import load_network, natural_model_content
from drill.voices.operators import find_operator
from drill.web.api.sessions import SessionApi
from drill.web.database import open_record

ROUNDS = 7
SYMBOLS = 40
"""Length of a short over in the natural voice's model."""
BLOCK_ITEMS = 60


@dataclass(frozen=True)
class Measure:
    """A part with its CPU time in ms, and a reference with its own."""

    name: str
    ms: float
    reference: str
    reference_ms: float


def alternating_ms(*calls: Callable[[], object]) -> list[float]:
    """Return the median CPU time of each call in ms, children included, after one to warm up."""
    times: list[list[float]] = [[] for _ in calls]
    for round_number in range(ROUNDS + 1):
        for call, own in zip(calls, times, strict=True):
            start = _cpu_ms()
            call()
            if round_number:
                own.append(_cpu_ms() - start)
    return [median(own) for own in times]


def _cpu_ms() -> float:
    children = os.times()
    return 1000 * (time.process_time() + children.children_user + children.children_system)


def natural_voice() -> Measure:
    """The network of the natural voice, compared with ONNX's reference evaluator."""
    numbers = np.random.default_rng(1).integers(1, 60, SYMBOLS)
    reference = ReferenceEvaluator(load_model_from_string(natural_model_content()))
    inputs = {"ids": numbers[None], "speed": np.ones(1, np.float32)}
    ms, reference_ms = alternating_ms(
        lambda: load_network().run(list(numbers), 1.0), lambda: reference.run(None, inputs)
    )
    return Measure("natural voice, one over", ms, "reference evaluator of ONNX", reference_ms)


def formant_voice() -> Measure:
    """The formant voice in forked processes, compared with a new process for each over."""
    operator = find_operator("tin")
    words = compose_item(Plan(seed=1, count=1, voices=("tin",)), 0).message.words
    times = {}
    for can_fork in (True, False):
        with patch.object(worker_process, "CAN_FORK", can_fork):
            start = time.perf_counter()
            for seed in range(ROUNDS):
                speak_uncached(words, operator, seed)
            times[can_fork] = 1000 * (time.perf_counter() - start) / ROUNDS
    return Measure("formant voice, one over (wall)", times[True], "a process each", times[False])


def busy_band() -> Measure:
    """The radio path of an over beside a busy band's neighbours, compared with the over alone."""
    busy = load_preset("busy-weekend").conditions
    plan = Plan(seed=2, count=1, part="over", voices=("tin",), conditions=busy)
    item = compose_item(plan, 0)
    wanted, *neighbours = synthesise_item(item)
    alone = load_preset("plain").conditions
    ms, reference_ms = alternating_ms(
        lambda: simulate(wanted, busy, 1, neighbours), lambda: simulate(wanted, alone, 1)
    )
    return Measure("radio path, busy band", ms, "radio path, conditions plain", reference_ms)


def radio_hour() -> Measure:
    """The radio path for a minute of sound, in CPU time per hour of sound."""
    sound = np.random.default_rng(1).standard_normal(60 * 16_000).astype(np.float32)
    clip = Clip(samples=0.1 * sound, rate_hz=16_000)
    conditions = load_preset("aurora").conditions
    (ms,) = alternating_ms(lambda: simulate(clip, conditions, 1))
    return Measure("radio path, one hour", 60 * ms, "the hour itself", 3_600_000)


def answers() -> Iterator[Measure]:
    """The last answers of a session on the page, compared with its first."""
    for kind in ("practice", "measurement"):
        api = SessionApi()
        session = api.begin({"kind": kind, "count": BLOCK_ITEMS})["id"]
        times = []
        for number in range(BLOCK_ITEMS):
            with open_record() as store:  # the page fetches each item before the trainee answers it
                api._load(store, session).item()
            start = time.process_time()
            api.answer(session, {"number": number, "text": "E87ABC", "seconds": 2.0})
            times.append(1000 * (time.process_time() - start))
        name = f"answer at item {BLOCK_ITEMS}, {kind}"
        yield Measure(name, median(times[-9:]), "answer at items 2 to 10", median(times[1:10]))


def measures() -> Iterator[Measure]:
    """Yield all parts. FAINTCALL_HOME names an empty folder."""
    yield natural_voice()
    yield formant_voice()
    yield busy_band()
    yield radio_hour()
    yield from answers()
