"""What the trainee has done is saved in the record, however often that has to be tried."""

from collections.abc import Callable
from typing import TypeVar

from drill.records.failures import RecordUnavailable

Result = TypeVar("Result")


def save_with_retries(save: Callable[[], Result], label: str) -> Result:
    """Return what `save` returns; while the record cannot be written, try again at Enter.

    label: what is saved, such as "your answer 'E8ABC'".
    Raises: EOFError at the end of input and KeyboardInterrupt, after saying that nothing was saved.
    """
    while True:
        try:
            return save()
        except RecordUnavailable as error:
            print(f"{label[:1].upper()}{label[1:]} is not saved yet: {error}.")
        try:
            input("Press Enter to save it again. ")
        except (EOFError, KeyboardInterrupt):
            print(f"\n{label[:1].upper()}{label[1:]} was not saved; everything before it is.")
            raise
