"""Saves an answer or another result in the record, and lets the trainee retry if that fails."""

from collections.abc import Callable
from typing import TypeVar

from drill.cli.wrapping import print_text
from drill.records.failures import RecordUnavailable

Result = TypeVar("Result")


def save_with_retries(save: Callable[[], Result], label: str) -> Result:
    """Return what `save` returns; if the record cannot be written, retry whenever Enter is pressed.

    label: names the thing to save, such as "your answer 'E8ABC'".
    Raises: EOFError at the end of input and KeyboardInterrupt, both after a message that it was not
    saved.
    """
    while True:
        try:
            return save()
        except RecordUnavailable as error:
            print_text(f"{label[:1].upper()}{label[1:]} could not be saved: {error}.")
        try:
            input("Press Enter to try again. ")
        except (EOFError, KeyboardInterrupt):
            print_text(
                f"\n{label[:1].upper()}{label[1:]} was not saved. Everything before it is saved."
            )
            raise
