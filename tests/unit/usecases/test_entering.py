"""Entering a record field by field."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode, Press
from aerode.records.marks import Entry
from aerode.store.bench_file import BenchFile
from aerode.usecases.entering import enter, texts_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """An empty bench."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        yield made


def test_blank_rows_are_left_out_and_faults_name_the_row_that_was_typed(bench: BenchFile) -> None:
    """The second row of two is the first that holds anything; its fault keeps its number."""
    good = enter(bench, "electrode", {"name": "T1", "press.0.force": "", "press.1.force": "200 N"})
    bad = enter(bench, "electrode", {"name": "T2", "press.0.force": "", "press.2.force": "soon"})

    assert good.record.press == (Press(force=Entry(value=200.0, text="200 N")),)
    assert [fault.field for fault in bad.faults] == ["press.2.force"]


def test_a_number_nobody_touched_keeps_all_its_digits(bench: BenchFile) -> None:
    """The form shows a rounded text; sending it back unchanged does not round the record."""
    exact = 9.123456789012e-4
    bench.put(Electrode(name="T1", wetted_area=Entry(value=exact, standard_uncertainty=1e-5)))
    texts = texts_of(bench.get(Electrode, "T1"))

    done = enter(bench, "electrode", {**texts, "note": "seen"}, name="T1")

    assert done.record.wetted_area.value == exact
    assert done.changed == ("note",)


def test_saving_without_a_change_makes_no_revision(bench: BenchFile) -> None:
    """History holds acts, not visits."""
    bench.put(Electrode(name="T1", recipe="A"))

    done = enter(bench, "electrode", texts_of(bench.get(Electrode, "T1")), name="T1")

    assert done.record.recipe == "A"
    assert len(bench.history(Electrode, "T1")) == 1


def test_a_clash_is_told_and_stores_nothing(bench: BenchFile) -> None:
    """Both changed the same field: both values come back."""
    first = enter(bench, "electrode", {"name": "T1", "recipe": "A"})
    enter(bench, "electrode", {"recipe": "B"}, name="T1", state=first.state)

    second = enter(bench, "electrode", {"recipe": "C"}, name="T1", state=first.state)

    assert second.record is None
    assert [(c.field, c.theirs, c.yours) for c in second.clashes] == [("recipe", "B", "C")]
    assert bench.get(Electrode, "T1").recipe == "B"


def test_names_that_stand_for_nothing_are_refused_with_the_near_ones(bench: BenchFile) -> None:
    """A mesh that is not on the shelf."""
    enter(bench, "mesh", {"name": "steel 40", "material": "steel"})

    done = enter(bench, "electrode", {"name": "T1", "mesh": "steel 4"}, picks={"mesh": "mesh"})

    assert [(fault.field, fault.allowed) for fault in done.faults] == [("mesh", "steel 40")]


def test_a_new_name_moves_the_record(bench: BenchFile) -> None:
    """Renaming by form keeps the history in one thread."""
    enter(bench, "electrode", {"name": "T1", "recipe": "A"})

    enter(bench, "electrode", {"name": "T1b", "recipe": "A"}, name="T1")

    assert bench.names(Electrode) == ["T1b"]
    assert bench.get(Electrode, "T1b").recipe == "A"


def test_a_taken_name_is_refused(bench: BenchFile) -> None:
    """A new record never swallows another."""
    enter(bench, "electrode", {"name": "T1", "recipe": "A"})

    done = enter(bench, "electrode", {"name": "T1", "recipe": "B"})

    assert [fault.field for fault in done.faults] == ["name"]
    assert bench.get(Electrode, "T1").recipe == "A"
