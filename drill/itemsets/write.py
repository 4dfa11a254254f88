"""A set of items as files: sounds, a manifest and an answer sheet, for practice elsewhere.

The manifest has one line of JSON an item. Its keys: number (from 1), file, truth (what has to be
copied), fields, spoken, words (say, means, field, start_s, end_s), voice, snr_db (asked for, in
3 kHz, null without noise), delivered_snr_db (with what speech processing adds), conditions,
seconds, rate_hz, seed, item (all that is needed to render it again) and version.
"""

import json
import multiprocessing
import os
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from pathlib import Path
from typing import Any

from drill import __version__
from drill.core import audio_files
from drill.core.errors import UserError
from drill.core.models import Item
from drill.core.structuring import to_data
from drill.items.plan import Plan, compose_item
from drill.items.prefetch_worker import exit_with_parent
from drill.items.render import receive_item
from drill.itemsets.answer_sheet import sheet
from drill.radio.channel import ReceivedAudio
from phonetics.phrases import spoken_text

MANIFEST = "manifest.jsonl"
PLAN = "plan.json"
SHEET = "sheet.html"


def entry(item: Item, heard: ReceivedAudio, *, number: int, file: str) -> dict[str, Any]:
    """Return the manifest's line for an item as plain data."""
    clip = heard.clip
    words = zip(item.message.words, clip.words, strict=True)
    return {
        "number": number,
        "file": file,
        "truth": " ".join(field.text for field in item.message.fields),
        "fields": {field.name: field.text for field in item.message.fields},
        "spoken": spoken_text(item.message),
        "words": [
            {
                "say": word.say,
                "means": word.means,
                "field": word.field,
                "start_s": round(time.start_s, 3),
                "end_s": round(time.end_s, 3),
            }
            for word, time in words
        ],
        "voice": item.operator.name,
        "snr_db": item.conditions.snr_db,
        "delivered_snr_db": None if heard.snr_db is None else round(heard.snr_db, 2),
        "conditions": asdict(item.conditions),
        "seconds": round(clip.seconds, 3),
        "rate_hz": clip.rate_hz,
        "seed": item.seed,
        "item": to_data(item),
        "version": __version__,
    }


def _make(plan: Plan, number: int, folder: Path, kind: str) -> str:
    """Render one item to its file and return its line; runs in a worker process."""
    item = compose_item(plan, number)
    heard = receive_item(item)
    name = f"item-{number + 1:04d}.{kind}"
    audio_files.write_audio(folder / name, heard.clip)
    return json.dumps(entry(item, heard, number=number + 1, file=name))


def _done(folder: Path) -> list[str]:
    """Return the manifest's whole lines from the first item on, as far as their files are there."""
    lines: list[str] = []
    try:
        text = (folder / MANIFEST).read_text("utf-8")
    except OSError:
        return lines
    for line in text.splitlines():
        try:
            row = json.loads(line)
        except ValueError:  # the write of the last line was cut off
            break
        if row["number"] != len(lines) + 1 or not (folder / row["file"]).exists():
            break
        lines.append(line)
    return lines


def _claim(folder: Path, plan: Plan, kind: str) -> None:
    """Note the plan in the folder. Raises: UserError where it holds something else already."""
    wanted = {"plan": plan.to_dict(), "format": kind, "version": __version__}
    note = folder / PLAN
    if note.exists():
        try:
            found = json.loads(note.read_text("utf-8"))
        except ValueError:
            found = None
        if found != json.loads(json.dumps(wanted)):
            raise UserError(f"{folder} holds another set of items; name an empty folder")
    elif (folder / MANIFEST).exists():
        raise UserError(f"{folder} holds a manifest of something else; name an empty folder")
    try:
        note.write_text(json.dumps(wanted, indent=1) + "\n", "utf-8")
    except OSError as error:
        raise UserError(f"{note} cannot be written: {error.strerror}") from None


def make(plan: Plan, folder: Path, *, kind: str = "flac", workers: int = 0) -> Iterator[int]:
    """Render the items of a plan into a folder; yield how many are ready, first those found there.

    A run that was stopped goes on where it was. workers: processes, 0 for one a core.

    Raises: UserError where the folder holds another set or cannot be written; NoVoice.
    """
    if kind not in audio_files.AUDIO_FORMATS:
        raise UserError(f"format {kind!r} is unknown; choose {' or '.join(audio_files.AUDIO_FORMATS)}")
    audio_files.make_folder(folder)
    _claim(folder, plan, kind)
    lines = _done(folder)
    manifest = folder / MANIFEST
    manifest.write_text("".join(line + "\n" for line in lines), "utf-8")
    yield len(lines)
    with manifest.open("a", encoding="utf-8") as out:
        for line in _lines(plan, folder, kind, len(lines), workers or os.cpu_count() or 1):
            out.write(line + "\n")
            out.flush()
            lines.append(line)
            yield len(lines)
    (folder / SHEET).write_text(sheet(plan, [json.loads(line) for line in lines]), "utf-8")


def _lines(plan: Plan, folder: Path, kind: str, first: int, workers: int) -> Iterator[str]:
    """Yield the manifest's lines in order, made in one process or in several."""
    numbers = range(first, plan.count)
    if workers == 1 or len(numbers) < 4 * workers:  # starting processes would take longer
        for number in numbers:
            yield _make(plan, number, folder, kind)
        return
    # spawn: forking a process that runs the voices' threads is not safe
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context, initializer=exit_with_parent) as pool:
        jobs = [pool.submit(_make, plan, number, folder, kind) for number in numbers]
        try:
            for job in jobs:
                yield job.result()
        finally:
            for job in jobs:
                job.cancel()
