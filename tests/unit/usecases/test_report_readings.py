"""The report holds the readings of every run of its pieces, and says what its tables hold."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import pytest

from aerode.measure.run_readings import TAKEN_BACK
from aerode.records.electrodes import Cell, Electrode
from aerode.records.runs import Reading, Run, RunSort, Settling
from aerode.store.bench_file import BenchFile
from aerode.usecases.report_readings import reading_table, readings_section

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

WATCHED = Reading(load="10 ohm", voltage=0.41, trace=((5.0, 0.45), (60.0, 0.41)))


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A piece with a run that counts, one of a single load, one with the face sealed, a long log; another piece."""
    with BenchFile.create(tmp_path / "one.aerode", title="One") as made:
        made.put(Electrode(name="T1"))
        made.put(Electrode(name="T2"))
        made.put(Cell(name="cell T1", electrode="T1"))
        made.put(Run(name="air", electrode="T1", order=1, readings=(WATCHED, Reading(load="5 ohm", voltage=0.3))))  # fmt: skip
        made.put(Run(name="early", cell="cell T1", order=2, readings=(Reading(load="10 ohm", voltage=0.39, doubt="lead off"),)))  # fmt: skip
        made.put(Run(name="taped", cell="cell T1", sort=RunSort.SEALED_FACE, order=3, readings=(Reading(load="10 ohm", voltage=0.2),)))  # fmt: skip
        log = tuple(Reading(load="10 ohm", voltage=0.4 - 0.001 * k) for k in range(100))
        made.put(Run(name="night", electrode="T1", sort=RunSort.RUN_DOWN, order=4, readings=log))
        made.put(Run(name="other", electrode="T2", readings=(WATCHED,)))
        yield made


def _compared() -> Any:
    piece = SimpleNamespace(electrode="T1", runs=("air",))
    return SimpleNamespace(pieces=[piece], refused=())


def test_runs_of_every_sort_are_there_and_none_of_another_piece(bench: BenchFile) -> None:
    """Load steps in one table, a sealed face and a log in the second; a long log by its two ends."""
    steps, others = readings_section(bench, _compared()).tables

    assert steps.columns == ("run", "order", "10 ohm", "5 ohm")
    assert steps.rows == (("air", "1", "0.410", "0.300"), ("early", "2", "0.390 (doubted)", "–"))
    assert others.rows == (
        ("taped", "sealed face", "3", "10 ohm: 0.200"),
        ("night", "run-down", "4", "10 ohm: 0.400 to 10 ohm: 0.301 (100 readings)"),
    )


def test_the_sentence_says_what_the_tables_hold(bench: BenchFile) -> None:
    """What carries no verdict, what is marked, and what stands in the bench file alone."""
    said = readings_section(bench, _compared()).sentence

    assert "nothing is left out" not in said
    assert "No verdict rests on early." in said
    assert "What was doubted, or corrected later, is marked." in said
    assert "Of 1 load that was watched the value that was kept stands here" in said
    assert "the first and the last stand here" in said


def test_a_reading_without_load_says_in_words_what_is_not_known() -> None:
    """“(not known)” alone says not of what."""
    reading = Reading(load="open", voltage=1.22, settling=Settling.NOT_KNOWN)
    assert reading_table([Run(name="a", readings=(reading,))]).rows[0][-1] == "1.220 (not noted whether settled)"  # fmt: skip


def test_what_does_not_count_stands_before_what_does() -> None:
    """A reading that was taken back, and one that was corrected, keep the columns."""
    run = Run(name="r", electrode="T1", readings=(
        Reading(load="10 ohm", voltage=0.5), Reading(load="10 ohm", voltage=0.4, replaces=0),
        Reading(load="5 ohm", voltage=0.31, doubt=TAKEN_BACK), Reading(resistance=5.0, voltage=0.3),
    ))  # fmt: skip

    assert reading_table([run]).rows == (
        ("r", "–", "0.500 (corrected), 0.400", "0.310 (taken back), 0.300"),
    )
