"""How the groups of a class get on: what each has measured, and which readings a teacher should look at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.runs import Run, RunSort
from aerode.usecases.group_codes import belongs
from aerode.usecases.run_page import reading_rows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.store.bench_file import BenchFile

__all__ = ["GroupLine", "Slip", "groups_of"]


_RECENT = 400
"""Pieces and runs that are looked at, the newest: a class works on what it has just made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A reading to look at again: whose, which, and what is held against it."""

    run: str
    load: str
    typed: str
    why: str
    mended: bool
    """True where another reading has replaced it already."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupLine:
    """One group: its pieces, its runs, its readings and its slips."""

    code: str
    electrodes: tuple[str, ...]
    runs: tuple[str, ...]
    readings: int
    slips: tuple[Slip, ...]

    @property
    def can_be_compared(self) -> bool:
        """Whether it has a piece with readings."""
        return bool(self.runs) and self.readings > 0


def groups_of(bench: BenchFile, codes: Sequence[str]) -> tuple[GroupLine, ...]:
    """What each group has on the bench. A piece belongs to a group if its name begins with the code.

    Parameters
    ----------
    bench : BenchFile
    codes : sequence of str

    Returns
    -------
    tuple of GroupLine
        In the order of the codes.
    """
    resistors = {
        i.name: i.nominal_resistance
        for i in bench.all(Instrument)
        if i.sort is Sort.RESISTOR and i.nominal_resistance
    }
    names = bench.to_pick_from(Electrode, most=_RECENT)[::-1]
    in_cell = {cell.name: cell.electrode for cell in bench.latest(Cell, count=_RECENT)}
    runs = [
        run
        for run in bench.latest(Run, count=_RECENT)[::-1]
        if run.sort in {RunSort.LOADS, RunSort.SHORT_CIRCUIT}
    ]
    return tuple(_group(code, names, runs, in_cell, resistors) for code in codes)


def _group(
    code: str,
    names: Sequence[str],
    runs: Sequence[Run],
    in_cell: dict[str, str],
    resistors: dict[str, float],
) -> GroupLine:
    own = [run for run in runs if belongs(run.electrode or in_cell.get(run.cell, ""), code)]
    slips: list[Slip] = []
    for run in own:
        slips += [
            Slip(run=run.name, load=row.load, typed=row.typed, why=row.doubt or "corrected later",
                 mended=row.replaced_by is not None)
            for row in reading_rows(run, resistors)
            if row.doubt or row.replaced_by is not None
        ]  # fmt: skip
    return GroupLine(
        code=code,
        electrodes=tuple(name for name in names if belongs(name, code)),
        runs=tuple(run.name for run in own),
        readings=sum(len(run.readings) for run in own),
        slips=tuple(slips),
    )
