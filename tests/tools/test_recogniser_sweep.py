"""The recogniser's sweep: figures of its tables, scoring, and resuming."""

import json
import sys
from dataclasses import asdict, replace
from pathlib import Path
from random import Random
from types import ModuleType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein
from scipy.stats import mannwhitneyu

from drill.core.errors import ResourceUnavailable, UserError
from drill.core.models import Clip
from drill.voices import speak
from drill.voices.operators import find_operator
from phonetics.message import Word
from tests.tools.recogniser_sweep import sweep
from tests.tools.recogniser_sweep.cluster import dask_cluster
from tests.tools.recogniser_sweep.comparison import comparison_table
from tests.tools.recogniser_sweep.sweep import (
    Cell,
    Row,
    has_same_content,
    read_results,
    run_sweep,
)
from tests.tools.recogniser_sweep.tables import (
    area_under_roc,
    markdown_tables,
    threshold_db,
    wilson_interval,
)
from tests.tools.recogniser_sweep.test_sets import Labelled, LabelledClip, read_set, write_set
from tests.tools.train_recogniser.bank import trimmed
from tests.tools.train_recogniser.edits import edit_distance
from tests.tools.train_recogniser.texts import LONGEST, stretches
from tests.tools.train_recogniser.vocabulary import tokens_of


@given(st.text("AB7", max_size=8), st.text("AB7", max_size=8))
def test_edit_distance_equals_rapidfuzz(one: str, other: str) -> None:
    assert edit_distance(one, other) == Levenshtein.distance(one, other)


@given(st.integers(1, 200).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_wilson_interval_equals_statsmodels(counts: tuple[int, int]) -> None:
    from statsmodels.stats.proportion import proportion_confint  # slow to import (0.8 s)

    reference = proportion_confint(*counts, method="wilson")
    assert wilson_interval(*counts) == pytest.approx(reference, abs=1e-6)


def _row(right: bool, confidence: float) -> Row:
    return Row(
        speaker="x", said="A", heard="A" if right else "B", errors=int(not right), symbols=1,
        right=right, confidence=confidence, seconds=1.0, cpu_s=0.01,
    )  # fmt: skip


def test_area_under_roc_equals_the_mann_whitney_statistic() -> None:
    rng = np.random.default_rng(1)
    rows = [_row(bool(rng.random() < 0.6), float(rng.integers(10)) / 10) for _ in range(200)]
    right = [row.confidence for row in rows if row.right]
    wrong = [row.confidence for row in rows if not row.right]
    reference = mannwhitneyu(right, wrong).statistic / (len(right) * len(wrong))
    assert area_under_roc(rows) == pytest.approx(reference)
    assert area_under_roc([_row(True, 0.5)]) is None


@pytest.mark.parametrize("true_db", [-6.0, 0.0, 3.0])
def test_threshold_of_a_known_curve_is_found(true_db: float) -> None:
    snrs = [-12.0, -9.0, -6.0, -3.0, 0.0, 6.0, 12.0, 40.0]
    shares = [1 / (1 + np.exp(-0.4 * (snr - true_db))) for snr in snrs]
    assert threshold_db(snrs, shares, [500] * 8) == pytest.approx(true_db, abs=0.2)


def test_words_that_sound_alike_count_as_equal() -> None:
    assert has_same_content(["thanks", "for", "fifty-nine"], ["thanks", "four", "fifty", "nine"])
    assert has_same_content(["roger", "kilo", "over"], ["kilo"])
    assert not has_same_content(["kilo", "one"], ["kilo", "two"])


def test_every_text_can_be_labelled() -> None:
    rng = Random(3)
    for _ in range(400):
        for words in stretches(rng):
            assert 1 <= len(words) <= LONGEST
            assert tokens_of(word.say for word in words)


def test_silence_at_the_ends_is_cut() -> None:
    tone = np.sin(np.arange(4000) / 3)
    sound = np.concatenate([np.zeros(3000), tone, np.zeros(5000)])
    assert len(trimmed(sound)) == pytest.approx(4000 + 2 * 480, abs=100)


def _set(path: Path) -> None:
    words = ("echo", "eight", "seven", "delta")
    clip: Clip = speak([Word(say=word) for word in words], find_operator("meadow"), 1)
    label = Labelled(speaker="meadow", kind="call", call="E87D", words=words)
    write_set(iter([LabelledClip(label=label, clip=clip)] * 3), path)


def test_a_set_is_read_back_unchanged(tmp_path: Path) -> None:
    _set(tmp_path / "one.npz")
    clips = read_set(tmp_path / "one.npz")
    assert [one.label.call for one in clips] == ["E87D"] * 3
    assert np.abs(clips[0].clip.samples).max() == pytest.approx(0.8, abs=1e-3)


def test_a_lead_is_silence_before_the_words(tmp_path: Path) -> None:
    _set(tmp_path / "one.npz")
    clips = read_set(tmp_path / "one.npz")
    plain, late = (
        sweep.received(clips, 0, Cell(test_set="one", condition=condition, snr_db=None))
        for condition in ("steady", "lead:2")
    )
    assert late.seconds - plain.seconds == pytest.approx(2, abs=0.01)
    energy = np.square(late.samples)
    assert energy[: round(1.9 * late.rate_hz)].sum() < 1e-3 * energy.sum()


def test_a_sweep_continues_where_it_stopped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _set(tmp_path / "one.npz")
    cells = [
        Cell(test_set="one", condition=condition, snr_db=snr_db)
        for condition, snr_db in (("steady", None), ("steady", 6.0), ("fading:flutter", 6.0))
    ]
    results = tmp_path / "results"
    run_sweep(cells[:1], sets=tmp_path, results=results)
    done = (results / cells[0].file_name).read_text()
    measured: list[Cell] = []

    def measure(_sets: Path, cell: Cell, _numbers: object, _model: object) -> list[object]:
        measured.append(cell)
        return []

    monkeypatch.setattr(sweep, "measure", measure)
    run_sweep(cells, sets=tmp_path, results=results, count=2)
    assert measured == cells[1:]
    assert (results / cells[0].file_name).read_text() == done
    assert all(row["right"] for row in json.loads(done)["rows"])


@pytest.mark.slow
def test_a_cluster_of_processes_gives_the_same_rows(tmp_path: Path) -> None:
    pytest.importorskip("distributed")
    _set(tmp_path / "one.npz")
    cell = Cell(test_set="one", condition="fading:flutter", snr_db=0.0)
    run_sweep([cell], sets=tmp_path, results=tmp_path / "here")
    with dask_cluster("local:2"):
        run_sweep([cell], sets=tmp_path, results=tmp_path / "there", jobs=-1)
    here, there = (read_results(tmp_path / name)[cell] for name in ("here", "there"))
    assert [replace(row, cpu_s=0) for row in here] == [replace(row, cpu_s=0) for row in there]


def test_a_cluster_of_no_processes_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", ModuleType("distributed"))
    with pytest.raises(UserError, match="local:many"), dask_cluster("local:many"):
        pass
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ResourceUnavailable, match="pip install dask"), dask_cluster("local:2"):
        pass


def test_tables_name_conditions_sets_and_intervals(tmp_path: Path) -> None:
    _set(tmp_path / "one.npz")
    cell = Cell(test_set="one", condition="steady", snr_db=None)
    run_sweep([cell], sets=tmp_path, results=tmp_path / "results")
    text = markdown_tables(tmp_path / "results", draws=2)
    assert "Condition: steady" in text
    assert "| one | 3 | 100 / 100 (44-100) |" in text


def test_a_comparison_contains_only_cells_that_all_models_have(tmp_path: Path) -> None:
    clean = Cell(test_set="one", condition="steady", snr_db=None)
    noisy = Cell(test_set="one", condition="steady", snr_db=-3.0)
    for name, cells, right in (("a", [clean, noisy], 3), ("b", [clean], 1)):
        (tmp_path / name).mkdir()
        for cell in cells:
            rows = [asdict(_row(number < right, 0.5)) for number in range(4)]
            text = json.dumps({"cell": asdict(cell), "rows": rows})
            (tmp_path / name / cell.file_name).write_text(text)
    lines = comparison_table([tmp_path / "a", tmp_path / "b"])
    assert lines[0] == "| set | condition | SNR | n | a | b | interval at 50 |"
    assert lines[2:] == ["| one | steady | clean | 4 | 75 | 25 | 15-85 |"]
