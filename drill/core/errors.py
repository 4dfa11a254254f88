"""The two kinds of failure that a user meets; the message is the sentence that the user reads."""

import sys
from typing import Any


class FaintcallError(Exception):
    """Base of all failures that are told in one line, without a traceback."""


class UserError(FaintcallError):
    """The caller's mistake: the message names the value and what is allowed."""


def install(*requirements: str) -> str:
    """Return the line that installs packages where this program runs."""
    return " ".join((sys.executable, "-m pip install", *requirements))


def one_line(error: Exception) -> str:
    """Return the words of an error of a library in one line."""
    return " ".join(str(error).split())


class Answered(UserError):
    """An item that was answered already, in another window say: its answer stays as it is."""


class MachineLack(FaintcallError):
    """Something that this machine does not have: the message names the remedy."""


class NoSoundCard(MachineLack):
    """There is no PortAudio library or no output device."""


class NoListener(MachineLack):
    """The speech recogniser is missing or failed."""


class NoVoice(MachineLack):
    """A speech engine is missing or failed."""


class NoMicrophone(MachineLack):
    """There is no input device, or it fails. kept: what it gave until then, None for nothing."""

    def __init__(self, message: str, kept: Any = None) -> None:
        """Take the sentence and what was recorded."""
        super().__init__(message)
        self.kept = kept
