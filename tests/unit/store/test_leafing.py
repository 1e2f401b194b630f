"""Part of a long list."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Cell, Electrode
from aerode.store import leafing
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """Seven electrodes, one of them withdrawn, one changed later, each with a cell."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        for number in range(7):
            made.put(Electrode(name=f"T{number}"))
            made.put(Cell(name=f"cell {number}", electrode=f"T{number}"))
        made.withdraw(Electrode, "T5")
        made.put(Electrode(name="T1", note="changed last"))
        yield made


def test_the_newest_come_first_and_a_change_does_not_move_a_record(bench: BenchFile) -> None:
    """Leafing through agrees with the whole list turned round."""
    whole = [one.name for one in bench.all(Electrode)][::-1]

    leaves = [one.name for skip in (0, 2, 4) for one in bench.latest(Electrode, count=2, skip=skip)]

    assert leaves == whole == ["T6", "T4", "T3", "T2", "T1", "T0"]


def test_what_belongs_to_one_thing(bench: BenchFile) -> None:
    """The cells of one electrode."""
    assert [one.name for one in bench.latest(Cell, count=5, of="T2")] == ["cell 2"]


def test_a_text_of_a_field_is_looked_for_in_all_records(
    bench: BenchFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In pages of two: the newest first, no withdrawn one, no other field, no wildcard, marks as they are."""
    monkeypatch.setattr(leafing, "_PAGE", 2)
    for number in range(5):
        bench.put(Electrode(name=f"late {number}", build="T1"))
    bench.put(Electrode(name="odd", build='T_% "1" \\ Ä'))
    bench.put(Electrode(name="no", note='"build":"T1"', recipe="T1"))
    bench.withdraw(Electrode, "late 2")
    bench.put(Electrode(name="late 4", build="T2"))

    said = [one.name for one in bench.saying(Electrode, "build", "T1")]

    assert said == ["late 3", "late 1", "late 0"]
    assert [one.name for one in bench.saying(Electrode, "build", 'T_% "1" \\ Ä')] == ["odd"]
    assert bench.saying(Electrode, "build", "T_") == []


def test_counting_and_picking_leave_out_what_was_withdrawn(bench: BenchFile) -> None:
    """The count and the names to pick from agree with the whole list."""
    assert bench.count(Electrode) == len(bench.all(Electrode)) == 6
    assert bench.to_pick_from(Electrode) == ["T6", "T4", "T3", "T2", "T1", "T0"]
    assert bench.to_pick_from(Electrode, most=2) == ["T6", "T4"]
