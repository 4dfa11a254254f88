"""Waits for the next item under every shipped condition. Run by hand.

python -m tests.bench.bench_waits [ITEMS]: in a session of each preset, a trainee answers every call
as soon as its sound ends. Prints the wall time from the answer to the next item, ready to play.
After 1.5 s the page says that it prepares the sound.
"""

import os
import sys
import time
from statistics import median
from tempfile import TemporaryDirectory

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one thread, as the command line sets it

from drill.items.prefetch import shared_prefetcher, warm_up_voices
from drill.radio.presets import preset_names
from drill.web.api.sessions import SessionApi


def waits_s(api: SessionApi, conditions: str, items: int) -> list[float]:
    """Return the wait in seconds for each item after the first, which no answer precedes."""
    session = api.begin({"kind": "practice", "conditions": conditions, "count": items})
    waits = []
    for number in range(items):
        start = time.perf_counter()
        item = api.item(session["id"], number)
        waits.append(time.perf_counter() - start)
        time.sleep(item["seconds"])
        answer = {"number": number, "text": "E87ABC", "seconds": 0.0}
        api.answer(session["id"], answer)
    return waits[1:]


def main(items: int) -> None:
    """Print the table."""
    warm_up_voices().result()
    print(f"{'conditions':24} {'median, s':>10} {'longest, s':>11}")
    for conditions in preset_names():
        waits = waits_s(SessionApi(), conditions, items)
        print(f"{conditions:24} {median(waits):10.3f} {max(waits):11.3f}", flush=True)
    shared_prefetcher().close()


if __name__ == "__main__":
    with TemporaryDirectory() as home:
        os.environ["FAINTCALL_HOME"] = home
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
