"""Reads typed lines in a thread, while the program does something else."""

import queue
import sys
import threading


class LineReader:
    """Lines of standard input, read by a thread, so that waiting for a line can time out."""

    def __init__(self) -> None:
        """Start reading."""
        self._lines: queue.Queue[str | None] = queue.Queue()
        self._ended = False
        threading.Thread(target=self._read_all, name="line reader", daemon=True).start()

    def read(self, timeout_s: float | None) -> str | None:
        """Return the next line without its line break, None if no line comes in time.

        timeout_s: None to wait as long as it takes. Raises: EOFError at the end of input.
        """
        if self._ended:
            raise EOFError
        try:
            line = self._lines.get(block=timeout_s != 0, timeout=timeout_s or None)
        except queue.Empty:
            return None
        if line is None:
            self._ended = True
            raise EOFError
        return line

    def ask(self, prompt: str) -> str:
        """Print a prompt and return the next line. Raises: EOFError at the end of input."""
        print(prompt, end="", flush=True)
        line = self.read(None)
        assert line is not None
        return line

    def _read_all(self) -> None:
        for line in sys.stdin:
            self._lines.put(line.rstrip("\r\n"))
        self._lines.put(None)
