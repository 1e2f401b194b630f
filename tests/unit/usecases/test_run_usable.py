"""How many loads of a run can be used: one count for its page, its fit, and what stands elsewhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.errors import CannotTellError
from aerode.measure.readings import read_run
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.fit import FitQuestion, fit_bench_run
from aerode.usecases.run_usable import usable_loads

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

VOLTS = {"100 ohm": 0.72, "47 ohm": 0.66, "22 ohm": 0.58, "15 ohm": 0.52, "10 ohm": 0.45}


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A meter, five resistors, one piece."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put(Instrument(name="meter", sort=Sort.MULTIMETER))
        for name in VOLTS:
            made.put(Instrument(name=name, sort=Sort.RESISTOR, nominal_resistance=float(name.split()[0])))  # fmt: skip
        made.put(Electrode(name="T1"))
        yield made


def _run(bench: BenchFile, loads: Sequence[str], closing: float) -> Run:
    """These loads, the second one read again last, with a voltage that has drifted to `closing` of it."""
    read = [Reading(load=name, voltage=VOLTS[name], waited=120.0) for name in loads]
    read.append(Reading(load=loads[1], voltage=closing * VOLTS[loads[1]], waited=120.0))
    run = Run(name="T1 loads", electrode="T1", readings=tuple(read), planned_loads=(*loads, loads[1]))  # fmt: skip
    bench.put(run)
    return run


@pytest.mark.parametrize("closing", [1.0, 0.98, 0.9])
def test_the_closing_check_is_no_further_load(bench: BenchFile, closing: float) -> None:
    """Five resistors are five loads, however far the cell has drifted when one is read again."""
    run = _run(bench, tuple(VOLTS), closing)
    page = usable_loads(bench, run)
    instruments = {part.name: part for part in bench.all(Instrument)}

    assert page is not None
    assert page.count == 5
    assert read_run(run, instruments).different_loads == 5


def test_two_loads_and_a_drift_are_no_curve(bench: BenchFile) -> None:
    """A straight line through two loads has nothing to bend on: the page and the fit say so alike."""
    run = _run(bench, ("100 ohm", "22 ohm"), 0.9)
    page = usable_loads(bench, run)

    assert page is not None
    assert not page.enough
    with pytest.raises(CannotTellError, match="2 usable loads on T1 loads"):
        fit_bench_run(bench, "T1 loads", FitQuestion())
