"""What a taped air face tells: from readings that count, and never against a charge that only air can have given."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.measure.run_readings import TAKEN_BACK
from aerode.records.electrodes import Cell, Electrode, Layer
from aerode.records.marks import Entry, Share
from aerode.records.materials import Electrolyte, Function, PowderLot
from aerode.records.mixes import Mix
from aerode.records.runs import Reading, Run, RunSort
from aerode.store.bench_file import BenchFile
from aerode.usecases.run_sealed import found_without_air, loads_read_with_air, still_to_seal

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

FAIR = Run(name="air", electrode="T1", session="1", order=1,
           readings=(Reading(resistance=10.0, voltage=0.4, waited=200.0),))  # fmt: skip
TAPED = Run(name="taped", electrode="T1", session="1", order=2, sort=RunSort.SEALED_FACE,
            readings=(Reading(resistance=10.0, voltage=0.36, waited=60.0),))  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """One electrode of 20 mg of manganese dioxide in salt water, read with air: it may hold 6.2 mAh."""
    with BenchFile.create(tmp_path / "one.aerode", title="One") as made:
        made.put(PowderLot(name="brown powder", substance="manganese dioxide", function=Function.CATALYST))  # fmt: skip
        made.put(Mix(name="m", wanted=(Share(of="brown powder", fraction=1.0),)))
        made.put(Electrolyte(name="brine", salt="sea salt"))
        layer = Layer(mix="m", dry_mass=Entry(value=2.0e-5))
        made.put(Electrode(name="T1", recipe="r", layers=(layer,), wetted_area=Entry(value=1e-3)))
        made.put(Cell(name="cell T1", electrode="T1", electrolyte="brine"))
        made.put(FAIR)
        made.put(TAPED)
        yield made


def test_a_face_that_keeps_the_current_is_a_hint_until_the_charge_proves_it(bench: BenchFile):
    """90 % left may be stored charge; 30 mAh drawn in air afterwards are more than 6.2 mAh, and end the advice."""
    said, step = found_without_air(bench, TAPED)
    assert said.endswith("a hint, and no proof")
    assert "mAh more with the face open" in step
    assert still_to_seal(bench, "T1") is not None

    hours = Reading(resistance=10.0, voltage=0.3, waited=3600.0)
    bench.put(Run(name="hours", electrode="T1", session="2", sort=RunSort.RUN_DOWN, readings=(hours,)))  # fmt: skip
    said, step = found_without_air(bench, TAPED)
    assert "a hint at its own charge or dissolved oxygen; but drawn" in said
    assert said.endswith("its solids could give: oxygen feeds it")
    assert step == ""
    assert still_to_seal(bench, "T1") is None


@pytest.mark.parametrize("doubt", ["lead came off", TAKEN_BACK])
def test_doubted_readings_are_neither_told_nor_asked_for(bench: BenchFile, doubt: str):
    """A doubted reading at a smaller load changes neither the share nor the load that is named, nor the loads to read."""
    fair = Reading(load="1 ohm", resistance=1.0, voltage=0.3, waited=60.0, doubt=doubt)
    bench.put(Run(name="air", electrode="T1", session="1", order=1, readings=(*FAIR.readings, fair)))  # fmt: skip
    taped = Run(name="taped", electrode="T1", session="1", order=2, sort=RunSort.SEALED_FACE, readings=(
        *TAPED.readings, Reading(load="1 ohm", resistance=1.0, voltage=0.003, waited=60.0, doubt=doubt)))  # fmt: skip
    said, _ = found_without_air(bench, taped)
    assert said.startswith("Without air 90 % of the current is left at 10 ohm")
    assert "1 ohm" not in loads_read_with_air(bench, "T1")
