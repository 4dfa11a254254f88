"""The hunts that run now, each in the window that opened it last."""

import threading

from drill.core.validation import shown
from drill.web.database import NotFoundError
from drill.web.hunt_feed import OTHER_WINDOW, Finish, HuntFeed, Send
from drill.web.hunt_sessions import HuntMemories

OTHER_WINDOW_SENTENCE = "this hunt goes on in another window"


class HuntFeeds:
    """The running hunts of this server. memories: the open hunts."""

    def __init__(self) -> None:
        """Begin without any."""
        self.memories = HuntMemories()
        self._lock = threading.Lock()
        self._running: dict[str, HuntFeed] = {}

    def open(self, identity: str, *, send: Send, finish: Finish) -> HuntFeed:
        """Start feeding a window, and stop feeding the window that had the hunt before."""
        feed = HuntFeed(identity, self.memories, send=send, finish=finish)
        with self._lock:
            earlier = self._running.get(identity)
            self._running[identity] = feed
        if earlier is not None:
            earlier.finish(OTHER_WINDOW, OTHER_WINDOW_SENTENCE)
            earlier.close()
        feed.start()
        return feed

    def close(self, identity: str, feed: HuntFeed) -> None:
        """Stop feeding a window; wait until its threads have ended."""
        with self._lock:
            if self._running.get(identity) is feed:
                del self._running[identity]
        feed.close()

    def running(self, identity: str) -> HuntFeed:
        """Return the feed of a running hunt. Raises: NotFoundError."""
        with self._lock:
            feed = self._running.get(identity)
        if feed is None:
            raise NotFoundError(f"the hunt {shown(identity)} is not running")
        return feed
