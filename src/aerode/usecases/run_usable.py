"""Which loads of a run a curve can use, which not and why, and which of these are worth reading again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.measure.curve_posterior import FEWEST_READINGS
from aerode.measure.readings import read_run
from aerode.measure.run_plans import OPEN
from aerode.measure.run_readings import taken_readings
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument
from aerode.records.runs import RunSort
from aerode.usecases.run_cells import cell_of_bench_run

if TYPE_CHECKING:
    from aerode.records.runs import Run
    from aerode.store.bench_file import BenchFile

__all__ = ["LeftOut", "UsableLoads", "usable_loads"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A reading at a load that no curve uses: its place in the run, its load, why."""

    place: int
    load: str
    why: str
    again: bool
    """Whether reading the load once more can help."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UsableLoads:
    """How many different loads of a run a curve can use, of how many it needs."""

    count: int
    needed: int
    left_out: tuple[LeftOut, ...]

    @property
    def enough(self) -> bool:
        """Whether a curve can be made of them."""
        return self.count >= self.needed

    @property
    def again(self) -> tuple[LeftOut, ...]:
        """Those that are worth reading once more."""
        return tuple(one for one in self.left_out if one.again)

    @property
    def sentence(self) -> str:
        """How it stands, and what to do where it is not enough."""
        loads = "no usable load" if not self.count else f"{self.count} usable load{'' if self.count == 1 else 's'}"  # fmt: skip
        if self.enough:
            return loads
        said = f"{loads}: a curve needs at least {self.needed}"
        return f"{said}: read {self.again[0].load} again" if self.again else said


_NO_HELP = "nearly open circuit"


def usable_loads(bench: BenchFile, run: Run) -> UsableLoads | None:
    """Which loads of a run a curve can use; None for a run that no curve is made of.

    Parameters
    ----------
    bench : BenchFile
        Open.
    run : Run
        Under way or closed; a load that is still watched does not count.
    """
    if run.sort is not RunSort.LOADS:
        return None
    cell = cell_of_bench_run(bench, run).cell
    electrode = bench.find(Electrode, run.electrode) if run.electrode else None
    instruments = {part.name: part for part in bench.all(Instrument)}
    data = read_run(run, instruments, electrode=electrode, cell=cell)
    standing = {id(reading) for reading in taken_readings(run)}
    left_out = tuple(
        LeftOut(
            place=one.index,
            load=one.load,
            why=one.why_not,
            again=run.readings[one.index].load in run.planned_loads and _NO_HELP not in one.why_not,
        )
        for one in data.points
        if one.why_not
        and run.readings[one.index].load != OPEN
        and id(run.readings[one.index]) in standing
    )
    return UsableLoads(count=data.different_loads, needed=FEWEST_READINGS, left_out=left_out)
