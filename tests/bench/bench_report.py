"""Speed of the report for a long record. Run by hand: python tests/bench/bench_report.py

Fills a record with 50,000 answers of a simulated trainee and prints the CPU time of the figures and
of the files, beside the time that only reading the same rows as JSON takes. Compare ratios within
one run.
"""

import json
import os
import sqlite3
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one thread, as the command line sets it

from drill.records.store import Store
from drill.report.figures import build_report
from drill.report.files import write_report
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from tests.drill.report.sample_record import make_plan, save_session
from tests.drill.simulated_trainee import SimulatedTrainee

ANSWERS = 50_000
BLOCKS = 40
PRACTICE_ITEMS = 500
T = TypeVar("T")


def fill_record(path: Path, count: int) -> None:
    """Fill a record with about `count` answers, at least 3,000.

    The record gets measurement blocks and one practice session, whose answers are copied until the
    record is long enough.
    """
    trainee = SimulatedTrainee(hard={"Q": 3.0})
    with Store(path) as store:
        for seed in range(BLOCKS):
            save_session(store, Measurement.from_plan(make_plan(seed, 60), store), trainee, seed)
        practice = Practice(plan=make_plan(99, PRACTICE_ITEMS))
        session = save_session(store, practice, trainee, BLOCKS)
    with sqlite3.connect(path) as database:
        (answers,) = database.execute("SELECT count(*) FROM attempt").fetchone()
        for copy in range(1, (count - answers) // PRACTICE_ITEMS + 1):
            database.execute(
                "INSERT INTO attempt SELECT sitting, number + ?, at, snr_db, right, points, item, "
                "answer, scores, version FROM attempt WHERE sitting = ? AND number < ?",
                (PRACTICE_ITEMS * copy, session, PRACTICE_ITEMS),
            )


def read_as_json(path: Path) -> None:
    """Parse the JSON of all answers."""
    with sqlite3.connect(path) as database:
        for row in database.execute("SELECT item, answer, scores FROM attempt").fetchall():
            for text in row:
                json.loads(text)


def timed(call: Callable[[], T]) -> tuple[T, float]:
    """Return the result of a call and its CPU time in seconds."""
    start = time.process_time()
    result = call()
    return result, time.process_time() - start


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.sqlite"
        fill_record(path, ANSWERS)
        _, reading_s = timed(lambda: read_as_json(path))
        with Store(path) as store:
            report, figures_s = timed(lambda: build_report(store, now=datetime.now(UTC)))
        _, files_s = timed(lambda: write_report(report, Path(folder) / "out"))
        print(f"{report.answered} answers, {len(report.groups[0].blocks)} measurement blocks")
        print(f"reading all rows as JSON   {reading_s:6.2f} s CPU")
        print(
            f"figures                    {figures_s:6.2f} s CPU, {figures_s / reading_s:.2f} of it"
        )
        print(f"files                      {files_s:6.2f} s CPU, {files_s / reading_s:.2f} of it")


if __name__ == "__main__":
    main()
