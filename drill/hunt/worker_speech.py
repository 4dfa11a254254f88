"""Speech of a hunt from a worker process.

Synthesis therefore never competes with the sound for the Python interpreter of this process.
"""

import atexit
import queue
import threading
from collections import OrderedDict
from collections.abc import Sequence
from concurrent.futures import Future, wait
from contextlib import suppress
from functools import cache

from drill import voices
from drill.core.models import Clip, Operator
from drill.items.prefetch import Prefetcher
from drill.items.prefetch_worker import WARM_UP_WORD, SpeechRequest
from phonetics.message import Word

MAX_CLIPS = 64
"""Number of clips in memory: each is requested when its over begins and again when it is heard."""
MAX_WAITING = 64
NICENESS = 0
"""The worker keeps the usual priority, because the clock of the hunt waits for it."""


class WorkerSpeech:
    """Speech that a worker process synthesises. Implements SpeechSource; any thread may use it."""

    def __init__(self) -> None:
        """Start no process yet."""
        self._prefetcher = Prefetcher(MAX_WAITING, niceness=NICENESS)
        self._lock = threading.Lock()
        self._clips: OrderedDict[SpeechRequest, Clip] = OrderedDict()
        self._coming: dict[SpeechRequest, Future[None]] = {}

    def warm_up(self, operator: Operator) -> None:
        """Start the process and the operator's engine, which takes some seconds."""
        with suppress(queue.Full, OSError):  # then only the first over takes longer
            request = SpeechRequest(words=(WARM_UP_WORD,), operator=operator, seed=0)
            self._prefetcher.submit(request)

    def prepare(self, requests: Sequence[SpeechRequest]) -> None:
        """Begin to synthesise overs that `speak` will be asked for soon, in this order.

        Raises: NoVoice, UserError.
        """
        for request in requests:
            if self._is_known(request):
                continue
            clip = voices.find_speech(request.words, request.operator, request.seed)
            if clip is not None:
                self._keep(request, clip)
                continue
            try:
                future = self._prefetcher.submit(request)
            except (queue.Full, OSError):
                return  # `speak` synthesises the other overs
            with self._lock:
                self._coming[request] = future

    def speak(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return the speech, and wait for it if it is not ready. See SpeechSource.

        Raises: NoVoice, UserError.
        """
        request = SpeechRequest(words=tuple(words), operator=operator, seed=seed)
        self.prepare([request])
        with self._lock:
            clip, future = self._clips.get(request), self._coming.pop(request, None)
        if future is not None:
            wait([future])
        if clip is None:
            # This comes from the worker's cache; an error of the worker is raised here again.
            clip = voices.speak(words, operator, seed)
            self._keep(request, clip)
        return clip

    def close(self) -> None:
        """End the process."""
        self._prefetcher.close()

    def _is_known(self, request: SpeechRequest) -> bool:
        with self._lock:
            return request in self._clips or request in self._coming

    def _keep(self, request: SpeechRequest, clip: Clip) -> None:
        with self._lock:
            self._clips[request] = clip
            while len(self._clips) > MAX_CLIPS:
                self._clips.popitem(last=False)


@cache
def shared_worker_speech() -> WorkerSpeech:
    """Return the speech of this process's hunts; its worker ends with the process."""
    speech = WorkerSpeech()
    atexit.register(speech.close)
    return speech
