"""The table of a worksheet: one row for every reading that the lesson's plan names, with its unit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from aerode.usecases.lesson import LessonPlan

__all__ = ["WorksheetRow", "worksheet_rows"]

_FEWEST = 3
"""Loads that the plan reads at least; where the bench has fewer, the row is left to be written by hand."""


@dataclass(frozen=True, slots=True)
class WorksheetRow:
    """One reading to be taken: over what, and in which unit it is read; "" for a load written by hand."""

    load: str
    unit: str


def worksheet_rows(plan: LessonPlan) -> tuple[WorksheetRow, ...]:
    """A row for no load, for each load, for the first load again, for the ammeter: as far as the plan names them.

    Parameters
    ----------
    plan : LessonPlan

    Returns
    -------
    tuple of WorksheetRow
        In the order in which they are read.
    """
    steps = {one.step.key for one in plan.steps}
    loads = [*plan.loads, *[""] * (_FEWEST - len(plan.loads))]
    rows = ["no load", *loads]
    if "more loads" in steps:
        rows += ["", ""]
    if "again" in steps:
        rows.append(f"{loads[0]} again" if loads[0] else "the first load again")
    told = [WorksheetRow(load, "V") for load in rows]
    if "ammeter" in steps:
        told.append(WorksheetRow("ammeter", "mA"))
    if "exchange" in steps:
        told += [WorksheetRow(f"other cell: {load or '________'}", "V") for load in loads]
    return tuple(told)
