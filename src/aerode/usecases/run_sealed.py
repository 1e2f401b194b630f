"""What a run with the air face taped over found: whether it is the air that feeds the electrode."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.comparison.air_or_battery import SEAL_AGAIN, SEALED_MAY_KEEP, sealed_share
from aerode.measure.comparison.air_table import air_or_battery_rows
from aerode.measure.run_readings import standing_readings
from aerode.records.electrodes import Cell
from aerode.records.runs import Run, RunSort
from aerode.usecases.compare_study import study_of
from aerode.usecases.run_instruments import resistors_of

if TYPE_CHECKING:
    from aerode.records.comparisons import AirOrBattery
    from aerode.records.runs import Reading
    from aerode.store.bench_file import BenchFile

__all__ = ["found_without_air", "loads_read_with_air", "still_to_seal"]


def loads_read_with_air(bench: BenchFile, electrode: str) -> set[str]:
    """The loads at which the newest run of load steps of an electrode was read; empty where it has none."""
    run = _with_air(bench, electrode)
    return {one.load for one in standing_readings(run) if one.load} if run is not None else set()


def found_without_air(bench: BenchFile, run: Run) -> tuple[str, str]:
    """What is left of the current without air, in a sentence, and what to do next.

    Parameters
    ----------
    bench : BenchFile
        Open.
    run : Run
        Of the sort sealed face.

    Returns
    -------
    (str, str)
        Without a full stop; the second is "" where nothing is left to do.
    """
    name = run.electrode
    resistors = resistors_of(bench)

    def ohms(reading: Reading) -> float | None:
        return reading.resistance or resistors.get(reading.load)

    fair = _with_air(bench, name)
    if fair is None:
        return "What it gives with air is not known yet", f"read {name} with its air face open, at one of these loads"  # fmt: skip
    share = sealed_share(fair, run, ohms)
    if share is None:
        return f"No load of this run was read with air as well, in {fair.name}", "read it at a load of that run"  # fmt: skip
    at = min(ohms(one) or 0.0 for one in run.readings if ohms(one) in {ohms(f) for f in fair.readings} - {None})  # fmt: skip
    said = f"Without air {100.0 * share:.0f} % of the current is left at {units.plain(at, 3)} ohm: "
    if share <= SEALED_MAY_KEEP:
        return f"{said}it is the air that feeds {name}", ""
    return f"{said}its own charge or dissolved oxygen feeds {name}, not the air behind it", SEAL_AGAIN  # fmt: skip


def still_to_seal(bench: BenchFile, electrode: str) -> AirOrBattery | None:
    """Why nobody can tell yet whether air feeds an electrode, with the act that tells; None where it is told."""
    study = study_of(bench, (electrode,))
    rows = air_or_battery_rows(study)
    return next((one for one in rows if one.electrode == electrode and not one.cleared and one.next_step), None)  # fmt: skip


def _with_air(bench: BenchFile, electrode: str) -> Run | None:
    """The newest run of load steps of an electrode that has a reading."""
    own = bench.all(Run, of=electrode)
    for cell in bench.all(Cell, of=electrode):
        own += bench.all(Run, of=cell.name)
    fair = [one for one in own if one.sort is RunSort.LOADS and one.readings and one.electrode in {electrode, ""}]  # fmt: skip
    return max(fair, key=lambda one: (one.session, one.order or 0), default=None)
