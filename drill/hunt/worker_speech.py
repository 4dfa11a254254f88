"""Speech of a hunt from a worker process, so that synthesis never competes with the sound for the
interpreter of this process."""

import queue
from collections import OrderedDict
from collections.abc import Sequence
from concurrent.futures import Future, wait

from drill import voices
from drill.core.models import Clip, Operator
from drill.items.prefetch import Prefetcher
from drill.items.prefetch_worker import SpeechRequest
from phonetics.message import Word

MAX_CLIPS = 64
"""Number of clips in memory: each is asked for when it is keyed and again when it is heard."""
MAX_WAITING = 64
NICENESS = 0
"""The worker keeps the usual priority, because the clock of the hunt waits for it."""


class WorkerSpeech:
    """Speech that a worker process synthesises. Implements SpeechSource."""

    def __init__(self) -> None:
        """Start no process yet."""
        self._prefetcher = Prefetcher(MAX_WAITING, niceness=NICENESS)
        self._clips: OrderedDict[SpeechRequest, Clip] = OrderedDict()
        self._coming: dict[SpeechRequest, Future[None]] = {}

    def prepare(self, requests: Sequence[SpeechRequest]) -> None:
        """Begin to synthesise overs that `speak` will be asked for soon, in this order."""
        for request in requests:
            if request in self._clips or request in self._coming:
                continue
            clip = voices.find_speech(request.words, request.operator, request.seed)
            if clip is not None:
                self._keep(request, clip)
                continue
            try:
                self._coming[request] = self._prefetcher.submit(request)
            except (queue.Full, OSError):
                return  # `speak` synthesises the rest

    def speak(self, words: Sequence[Word], operator: Operator, seed: int) -> Clip:
        """Return the speech, and wait for it if it is not ready. See SpeechSource.

        Raises: NoVoice, UserError.
        """
        request = SpeechRequest(words=tuple(words), operator=operator, seed=seed)
        if request not in self._clips:
            self.prepare([request])
        future = self._coming.pop(request, None)
        if future is not None:
            wait([future])
        if request not in self._clips:
            # From the cache of the worker; an error of the worker is raised here again.
            self._keep(request, voices.speak(words, operator, seed))
        self._clips.move_to_end(request)
        return self._clips[request]

    def close(self) -> None:
        """End the process."""
        self._prefetcher.close()

    def _keep(self, request: SpeechRequest, clip: Clip) -> None:
        self._clips[request] = clip
        while len(self._clips) > MAX_CLIPS:
            self._clips.popitem(last=False)
