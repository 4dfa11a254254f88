"""Speech of a hunt from the worker process, with a fake of it."""

import queue
from concurrent.futures import Future

import pytest

from drill import voices
from drill.core.errors import NoVoice
from drill.core.models import Clip
from drill.hunt import worker_speech
from drill.hunt.worker_speech import MAX_CLIPS, WorkerSpeech
from drill.items.prefetch_worker import SpeechRequest
from drill.voices.operators import find_operator
from phonetics.message import Word
from tests.drill.radio.sounds import voice_like

RIVET = find_operator("rivet")


class FakeWorker:
    """A fake of the worker process and the speech cache: the requests, and the cached speech."""

    def __init__(self, *arguments: object, **options: object) -> None:
        self.asked: list[SpeechRequest] = []
        self.cached: dict[int, Clip] = {}
        self.is_full = False

    def submit(self, request: SpeechRequest) -> "Future[None]":
        """Synthesise at once."""
        if self.is_full:
            raise queue.Full
        self.asked.append(request)
        self.cached[request.seed] = voice_like(0.2, seed=request.seed)
        future: Future[None] = Future()
        future.set_result(None)
        return future


@pytest.fixture
def worker(monkeypatch: pytest.MonkeyPatch) -> FakeWorker:
    fake = FakeWorker()
    monkeypatch.setattr(worker_speech, "Prefetcher", lambda *arguments, **options: fake)
    monkeypatch.setattr(voices, "find_speech", lambda words, operator, seed: fake.cached.get(seed))
    monkeypatch.setattr(voices, "speak", lambda words, operator, seed: fake.cached[seed])
    return fake


def request(seed: int) -> SpeechRequest:
    return SpeechRequest(words=(Word(say="alfa"),), operator=RIVET, seed=seed)


def speak(speech: WorkerSpeech, seed: int) -> Clip:
    return speech.speak((Word(say="alfa"),), RIVET, seed)


def test_what_was_prepared_is_not_asked_for_again(worker: FakeWorker) -> None:
    speech = WorkerSpeech()
    speech.prepare([request(1), request(2), request(1)])
    assert [entry.seed for entry in worker.asked] == [1, 2]
    assert speak(speech, 2) is worker.cached[2]
    assert speak(speech, 1) is worker.cached[1]
    assert speak(speech, 1) is worker.cached[1]
    assert len(worker.asked) == 2


def test_cached_speech_needs_no_worker(worker: FakeWorker) -> None:
    worker.cached[5] = voice_like(0.2)
    assert speak(WorkerSpeech(), 5) is worker.cached[5]
    assert worker.asked == []


def test_memory_is_limited(worker: FakeWorker) -> None:
    speech = WorkerSpeech()
    for seed in range(MAX_CLIPS + 5):
        speak(speech, seed)
    assert len(speech._clips) == MAX_CLIPS


def test_a_full_queue_or_a_failing_voice_is_no_dead_end(
    worker: FakeWorker, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(words: object, operator: object, seed: int) -> Clip:
        raise NoVoice("no voice here")

    speech = WorkerSpeech()
    speech.warm_up(RIVET)
    worker.is_full = True
    speech.warm_up(RIVET)
    monkeypatch.setattr(voices, "speak", fail)
    with pytest.raises(NoVoice, match="no voice here"):
        speak(speech, 7)


@pytest.mark.slow
@pytest.mark.usefixtures("home")
def test_the_worker_gives_the_same_speech_as_this_process() -> None:
    speech = WorkerSpeech()
    words = (Word(say="alfa", means="A"), Word(say="nine", means="9"))
    clip = speech.speak(words, RIVET, 3)
    speech.close()
    expected = voices.speak_uncached(words, RIVET, 3)
    assert clip.samples.shape == expected.samples.shape
    assert abs(clip.samples - expected.samples).max() <= 1 / 32767
