"""Speed of the report over a long record; run by hand: python tests/bench/bench_report.py

Fills a record with answers of a simulated listener and prints how long the figures and the page of
50,000 take beside what reading the same rows as JSON takes alone. Compare ratios within one run.
"""

import json
import os
import sqlite3
import sys
import tempfile
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[2]))

from drill.items.plan import Plan
from drill.records.store import Store
from drill.report.figures import report
from drill.report.sections import write
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from tests.drill.typist import START, Typist, run

ANSWERS = 50_000
BLOCKS = 40


def fill(path: Path) -> None:
    """Fill a record: measuring blocks, and practice copied over until it is long."""
    typist = Typist(hard={"Q": 3.0})
    with Store(path) as store:
        for number in range(BLOCKS):
            plan = Plan(seed=number, count=60, mix="unassigned", voices=("tin", "wren"))
            course: Measurement | Practice = Measurement.from_plan(plan, store)
            keep(store, course, typist, number)
        plan = Plan(seed=99, count=500, mix="unassigned", voices=("tin", "wren"))
        identity = keep(store, Practice(plan=plan), typist, BLOCKS)
    with sqlite3.connect(path) as db:
        (have,) = db.execute("SELECT count(*) FROM attempt").fetchone()
        copies = (ANSWERS - have) // 500 + 1
        for copy in range(1, copies):
            db.execute(
                "INSERT INTO attempt SELECT sitting, number + ?, at, snr_db, right, points, item, "
                "answer, scores, version FROM attempt WHERE sitting = ? AND number < 500",
                (500 * copy, identity),
            )


def keep(store: Store, course: Measurement | Practice, typist: Typist, day: int) -> str:
    """Keep a listener's answers."""
    identity = store.begin_session(
        course.plan,
        now=START + timedelta(days=day),
        version="bench",
        mode=course.stored_name,
        course=course.to_dict(),
    )
    for number, attempt in enumerate(run(course, typist, day=day)):
        store.add_attempt(identity, number, replace(attempt, version="bench"))
    return identity


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.sqlite"
        fill(path)
        start = time.process_time()
        with sqlite3.connect(path) as db:
            rows = db.execute("SELECT item, answer, scores FROM attempt").fetchall()
            for row in rows:
                for text in row:
                    json.loads(text)
        reading = time.process_time() - start
        with Store(path) as store:
            start = time.process_time()
            found = report(store, now=datetime.now(UTC))
            figures = time.process_time() - start
        start = time.process_time()
        write(found, Path(folder) / "out")
        page = time.process_time() - start
        print(f"{found.answered} answers, {len(found.kinds[0].blocks)} measuring blocks")
        print(f"reading all rows as JSON   {reading:6.2f} s CPU")
        print(f"figures                    {figures:6.2f} s CPU, {figures / reading:.2f} of it")
        print(f"page and files             {page:6.2f} s CPU, {page / reading:.2f} of it")


if __name__ == "__main__":
    main()
