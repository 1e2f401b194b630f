"""Symptoms: rows that fit, and the answer kept with its electrode."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from aerode.errors import InputError, NotFoundError, ReferenceDataError
from aerode.records import KINDS
from aerode.records.adapter import read, write
from aerode.records.electrodes import Cell, Electrode
from aerode.records.symptoms import Symptom
from aerode.store.bench_file import BenchFile
from aerode.usecases.symptom import SymptomNote, keep_answer, what_it_may_be

WHEN = "2031-05-04T10:00:00"


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[BenchFile]:
    """A bench that stores symptoms, with an electrode and a cell."""
    monkeypatch.setitem(KINDS, "symptom", Symptom)
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as store:
        store.put_all([Electrode(name="T1"), Cell(name="A1", electrode="T1")])
        yield store


def test_all_of_them_or_those_that_fit() -> None:
    """No words: the whole table. Words: the likely ones, the first cause in the verdict."""
    everything, black = what_it_may_be(), what_it_may_be("the liquid went black")

    assert len(everything.rows) >= 20
    assert black.rows[0].key == "black liquid"
    assert black.headline.startswith("black liquid: likely ")
    assert {row.source for row in everything.rows} == {"common_practice"}
    assert all(len(what_it_may_be(row.key).headline) <= 100 for row in everything.rows)


def test_nothing_fits_is_said_with_what_there_is() -> None:
    """The keys are listed."""
    with pytest.raises(ReferenceDataError, match="white gel"):
        what_it_may_be("purple elephants")


def test_an_answer_is_kept_and_found_again(bench: BenchFile) -> None:
    """What the test showed, the cause by its number, and settled; later it stands beside the row."""
    note = SymptomNote(symptom="wet air face", on="T1", showed="tissue gained 0.3 g", cause="1")

    kept = keep_answer(bench, note, at=WHEN)
    again = what_it_may_be("wet air face", bench, "T1")

    assert kept.kept == f"T1: leak: wet air face, {WHEN}"
    assert again.before[0].cause == "liquid weeps through the layer"
    assert again.before[0].settled
    assert again.before[0].at == WHEN
    assert read(Symptom, write(again.before[0])) == again.before[0]


def test_an_open_cause_and_own_words(bench: BenchFile) -> None:
    """Without a cause it is not settled; with other words they stand as typed; a cell names both."""
    keep_answer(bench, SymptomNote(symptom="white gel", on="A1", showed="came back"), at=WHEN)
    keep_answer(
        bench,
        SymptomNote(symptom="reading jumps", on="A1", showed="ok", cause="mouse at the leads"),
        at=WHEN,
    )
    first, second = what_it_may_be("white gel", bench, "A1").before

    assert not first.settled
    assert (first.cell, first.electrode) == ("A1", "T1")
    assert second.cause == "mouse at the leads"
    assert len(what_it_may_be("white gel", bench, "T1").before) == 2


def test_what_cannot_be_kept(bench: BenchFile) -> None:
    """No such piece, no such cause, no such symptom, nothing to keep."""
    with pytest.raises(NotFoundError, match="T1"):
        keep_answer(bench, SymptomNote(symptom="white gel", on="T9", showed="x"), at=WHEN)
    with pytest.raises(InputError, match="no cause 7"):
        keep_answer(bench, SymptomNote(symptom="white gel", on="T1", cause="7"), at=WHEN)
    with pytest.raises(ReferenceDataError, match="white gel"):
        keep_answer(bench, SymptomNote(symptom="white jell", on="T1", cause="1"), at=WHEN)
    with pytest.raises(InputError, match="nothing to keep"):
        keep_answer(bench, SymptomNote(symptom="white gel", on="T1"), at=WHEN)
    with pytest.raises(NotFoundError):
        what_it_may_be("white gel", bench, "T9")
