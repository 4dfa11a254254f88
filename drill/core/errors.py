"""Errors that end in one line for the user, without a traceback.

`UserError` is for input that the user can correct; `ResourceUnavailable` and its subclasses are for
something that this computer lacks. The message is one line. Program logic reads `field` and
`kind`, never the message.
"""


class FaintcallError(Exception):
    """Base class of every error that is shown to the user as one line."""


class UserError(FaintcallError):
    """Input that cannot be used: the message names the value, what is allowed and what to do.

    field: name of the wrong value as the data calls it, dotted where it is nested
    ("noise.vd_db", "neighbours[0].snr_db"), "" if the error concerns no single value.
    kind: short code for program logic, "" if none is needed. drill.core.validation uses "unknown"
    (name or choice that does not exist), "missing", "wrong_type", "out_of_range", "too_long" and
    "not_unicode".
    """

    def __init__(self, message: str, *, field: str = "", kind: str = "") -> None:
        """Store the message for the user, and field and kind for the program."""
        super().__init__(message)
        self.field = field
        self.kind = kind


class AlreadyAnswered(UserError):
    """The item already has an answer, for example from another window; that answer is kept."""


class ResourceUnavailable(FaintcallError):
    """Something that this computer lacks or that is in use; the message names the remedy."""


class NoSoundCard(ResourceUnavailable):
    """The PortAudio library or an output device is missing.

    advice: what is missing and what to do. detail: the report of the sound library, "" without one;
    it comes last.
    """

    def __init__(self, advice: str, detail: str = "") -> None:
        """Compose the message."""
        super().__init__(_with_detail(advice, detail))
        self.advice, self.detail = advice, detail

    def message_or(self, alternative: str) -> str:
        """Return the message with another thing that the user can do."""
        return _with_detail(f"{self.advice}; or {alternative}", self.detail)


class NoRecogniser(ResourceUnavailable):
    """The speech recogniser is missing or failed."""


class NoVoice(ResourceUnavailable):
    """A speech engine is missing or failed."""


class NoMicrophone(ResourceUnavailable):
    """The input device is missing or failed."""


def single_line(error: Exception) -> str:
    """Return a library's error message with its line breaks replaced by spaces."""
    return " ".join(str(error).split())


def _with_detail(text: str, detail: str) -> str:
    return f"{text} ({detail})" if detail else text
