"""Writes an item set: audio files, a manifest, answer sheets and the key.

The manifest has one line of JSON per item with the keys number (from 1), file, truth (the text to
copy), fields, spoken, words (say, means, field, start_s, end_s), voice (name of the operator),
snr_db (as requested, in 3 kHz, null without noise), delivered_snr_db (including the gain of speech
processing), conditions, seconds, rate_hz, seed, item (everything needed to render it again) and
version.
"""

import json
import multiprocessing
import os
from collections.abc import Generator, Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

from drill import __version__
from drill.core.audio_files import AUDIO_FORMATS, make_folder, write_audio
from drill.core.errors import UserError
from drill.core.models import Item
from drill.core.structuring import to_data
from drill.core.validation import checked_integer, integer_within, one_of
from drill.items.plan import Plan, compose_item
from drill.items.prefetch_worker import exit_with_parent
from drill.items.render import receive_item
from drill.itemsets.answer_sheet import answer_key_html, answer_sheet_html
from drill.radio.channel import ReceivedAudio
from phonetics.phrases import spoken_text

MANIFEST_FILE = "manifest.jsonl"
PLAN_FILE = "plan.json"
SHEET_FILE = "sheet.html"
KEY_FILE = "key.html"
MAX_PEOPLE = 100


def write_item_set(
    plan: Plan, folder: Path, *, format_name: str = "flac", workers: int = 0, people: int = 1
) -> Generator[int, None, None]:
    """Render the items of a plan into a folder; yield the number of finished items after each.

    An interrupted run continues where it stopped; the first number counts the items already there.
    format_name: one of AUDIO_FORMATS. workers: number of processes, 0 for one per core.
    people: number of answer sheets.

    Raises: UserError if an argument is out of range, or if the folder holds another set or cannot
    be written; NoVoice if an engine is missing or fails.
    """
    one_of("format", format_name, AUDIO_FORMATS)
    integer_within("people", people, 1, MAX_PEOPLE, label="number of answer sheets")
    make_folder(folder)
    _claim_folder(folder, plan, format_name)
    lines = _finished_lines(folder)
    manifest = folder / MANIFEST_FILE
    manifest.write_text("".join(line + "\n" for line in lines), "utf-8")
    yield len(lines)
    worker_count = workers or os.cpu_count() or 1
    with manifest.open("a", encoding="utf-8") as out:
        for line in _new_lines(plan, folder, format_name, len(lines), worker_count):
            out.write(line + "\n")
            out.flush()
            lines.append(line)
            yield len(lines)
    entries = [json.loads(line) for line in lines]
    sheet = answer_sheet_html(plan, entries, people=people)
    (folder / SHEET_FILE).write_text(sheet, "utf-8")
    (folder / KEY_FILE).write_text(answer_key_html(plan, entries), "utf-8")


def stored_seed(folder: Path) -> int | None:
    """Return the seed of the item set that a folder holds, None if it holds none."""
    try:
        claim = json.loads((folder / PLAN_FILE).read_text("utf-8"))
        return checked_integer("seed", claim["plan"]["seed"])
    except (OSError, ValueError, LookupError, TypeError, RecursionError, UserError):
        return None


def count_finished_items(folder: Path) -> int:
    """Return how many items the manifest of a folder lists, 0 if it has none."""
    try:
        with (folder / MANIFEST_FILE).open("rb") as manifest:
            return sum(line.endswith(b"\n") for line in manifest)
    except OSError:
        return 0


def manifest_entry(item: Item, audio: ReceivedAudio, *, number: int, file: str) -> dict[str, Any]:
    """Return the manifest entry of an item as plain data; number: from 1; file: its name."""
    clip = audio.clip
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
        "delivered_snr_db": None if audio.snr_db is None else round(audio.snr_db, 2),
        "conditions": to_data(item.conditions),
        "seconds": round(clip.seconds, 3),
        "rate_hz": clip.rate_hz,
        "seed": item.seed,
        "item": to_data(item),
        "version": __version__,
    }


def _claim_folder(folder: Path, plan: Plan, format_name: str) -> None:
    """Write the plan into the folder. Raises: UserError if the folder holds another set."""
    claim = {"plan": plan.to_dict(), "format": format_name, "version": __version__}
    file = folder / PLAN_FILE
    if file.exists():
        try:
            existing = json.loads(file.read_text("utf-8"))
        except (ValueError, RecursionError):
            existing = None
        if existing != json.loads(json.dumps(claim)):
            raise UserError(f"{folder} holds another set of items; give an empty folder")
    elif (folder / MANIFEST_FILE).exists():
        raise UserError(f"{folder} holds the manifest of something else; give an empty folder")
    try:
        file.write_text(json.dumps(claim, indent=1) + "\n", "utf-8")
    except OSError as error:
        raise UserError(f"{file} cannot be written: {error.strerror}") from None


def _finished_lines(folder: Path) -> list[str]:
    """Return the complete lines of the manifest, up to the first item without an audio file."""
    lines: list[str] = []
    try:
        text = (folder / MANIFEST_FILE).read_text("utf-8")
    except (OSError, ValueError):
        return lines
    for line in text.splitlines():
        try:
            entry = json.loads(line)
            number, file = entry["number"], folder / entry["file"]
        except (ValueError, LookupError, TypeError):
            # An interrupted run can leave the last line incomplete.
            break
        if number != len(lines) + 1 or not file.exists():
            break
        lines.append(line)
    return lines


def _new_lines(
    plan: Plan, folder: Path, format_name: str, first: int, workers: int
) -> Iterator[str]:
    """Render the items from `first` on; yield their manifest lines in order."""
    numbers = range(first, plan.count)
    if workers == 1 or len(numbers) < 4 * workers:  # starting processes would take longer
        for number in numbers:
            yield _render_to_file(plan, number, folder, format_name)
        return
    # spawn: forking a process that runs threads of speech engines is not safe
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context, initializer=exit_with_parent) as pool:
        jobs = [
            pool.submit(_render_to_file, plan, number, folder, format_name) for number in numbers
        ]
        try:
            for job in jobs:
                yield job.result()
        finally:
            for job in jobs:
                job.cancel()


def _render_to_file(plan: Plan, number: int, folder: Path, format_name: str) -> str:
    """Render one item to its audio file; return its manifest line. Runs in a worker process."""
    item = compose_item(plan, number)
    audio = receive_item(item)
    file = f"item-{number + 1:04d}.{format_name}"
    write_audio(folder / file, audio.clip)
    return json.dumps(manifest_entry(item, audio, number=number + 1, file=file))
