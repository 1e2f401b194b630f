"""What the run-downs on record say of the share of the current that is left when a battery needs it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError
from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.run_down import curves_of, rows_read, share_left
from aerode.records.runs import RunSort
from aerode.usecases.log_charge import rows_over_load

if TYPE_CHECKING:
    from aerode.measure.comparison.study import Study
    from aerode.store.bench_file import BenchFile

__all__ = ["RunDown", "run_down_of"]

_WHOLE = 0.95
"""Share of the time that a log must cover to count as covering it: a judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunDown:
    """What one run-down of the recipe told."""

    run: str
    share: float | None
    """Left of the current; None where the curve was not read at the voltage that it came to."""
    after: float
    """Of the load being on [s]."""
    voltage: float
    covers: bool
    """Whether it lasted for as long as the battery has to."""
    density: float | None
    """Mean current density while it ran [A/m^2]."""

    def words(self) -> str:
        """Which run it was, how long, and what it came to."""
        hours = units.plain(self.after / 3600.0, 3)
        return (
            f"run-down {self.run}, {hours} h on its load, down to {units.plain(self.voltage, 3)} V"
        )


def run_down_of(bench: BenchFile, study: Study, recipe: str, on_time: float) -> RunDown | None:
    """The run-down of a recipe that left least, of those that lasted long enough; else the longest.

    Parameters
    ----------
    bench : BenchFile
    study : Study
    recipe : str
    on_time : float [s]
        For how long the load of the battery is on, in all.

    Returns
    -------
    RunDown or None
        None where no run-down of the recipe has a load that is known and two readings.
    """
    area = {e.name: e.wetted_area.value for e in study.electrodes if e.wetted_area is not None}
    mine = {e.name for e in study.electrodes if recipe_of(e) == recipe}
    found: list[RunDown] = []
    for run in study.runs:
        name = study.electrode_name(run)
        if run.sort is not RunSort.RUN_DOWN or name not in mine:
            continue
        try:
            rows = rows_read(study, run) if run.readings else rows_over_load(bench, run)
        except AerodeError:
            continue
        if rows is None:
            continue
        time, volts, ohms = rows
        left = share_left(time, volts, ohms, curves_of(study, name), on_time)
        found.append(
            RunDown(
                run=run.name, share=left.share, after=left.after, voltage=left.voltage,
                covers=left.after >= _WHOLE * on_time,
                density=left.mean_current / area[name] if name in area else None,
            )
        )  # fmt: skip
    whole = [one for one in found if one.covers]
    if whole:
        return min(whole, key=lambda one: -1.0 if one.share is None else one.share)
    return max(found, key=lambda one: one.after, default=None)
