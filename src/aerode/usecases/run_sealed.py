"""What a run with the air face taped over found: whether it is the air that feeds the electrode."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.comparison.air_or_battery import SEAL_AGAIN, SEALED_MAY_KEEP, sealed_share_at
from aerode.measure.comparison.air_table import air_or_battery_rows
from aerode.measure.run_readings import taken_readings
from aerode.records.electrodes import Cell
from aerode.records.runs import Run, RunSort
from aerode.usecases.compare_study import study_of
from aerode.usecases.run_instruments import resistors_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.records.comparisons import AirOrBattery
    from aerode.records.logs import LogStep
    from aerode.records.runs import Reading
    from aerode.store.bench_file import BenchFile

__all__ = [
    "TAPE_FIRST",
    "found_without_air",
    "loads_read_with_air",
    "lowest_at_lighter",
    "still_to_seal",
    "tape_off_at_close",
    "tape_off_first",
    "voltage_with_air",
    "without_air_words",
]


def lowest_at_lighter(
    readings: Sequence[Reading], resistors: Mapping[str, float], load: str
) -> tuple[str, float] | None:
    """The lowest reading at a load that draws no more than this one: without air this one reads no more.

    Parameters
    ----------
    readings : sequence of Reading
        Of the taped run so far.
    resistors : mapping of str to float [ohm]
    load : str

    Returns
    -------
    (str, float [V]) or None
        None where nothing undoubted was read at a lighter load.
    """
    ohms = resistors.get(load)
    if ohms is None:
        return None
    lighter = [(one.load, one.voltage) for one in readings if one.voltage is not None and not one.doubt and resistors.get(one.load, 0.0) >= ohms]  # fmt: skip
    return min(lighter, key=lambda one: one[1], default=None)


def loads_read_with_air(bench: BenchFile, electrode: str) -> set[str]:
    """The loads at which the newest run of load steps of an electrode was read; empty where it has none."""
    run = _with_air(bench, electrode)
    return {one.load for one in _counted(run) if one.load} if run is not None else set()


def voltage_with_air(bench: BenchFile, electrode: str, load: str) -> float | None:
    """The voltage that the newest run of load steps of an electrode gave at a load [V]; None where it was not read."""
    run = _with_air(bench, electrode)
    read = [] if run is None else [one.voltage for one in _counted(run) if one.load == load and one.voltage is not None]  # fmt: skip
    return read[-1] if read else None


TAPE_FIRST = "Tape over the air face first, all of it, to the end of the run; the jar stays open"
"""What comes before the first load of a run without air."""


def without_air_words(bench: BenchFile, run: Run, step: LogStep | None) -> str:
    """What a load gave with air, of a run whose air face is taped over; "" where it was not read.

    It is the piece's own last reading at that load: what the taped run itself has shown so far
    foretells nothing of air.
    """
    if step is None or not step.load:
        return ""
    gave = voltage_with_air(bench, run.electrode, step.load)
    return "" if gave is None else f"less than the {gave:.3f} V that it gave with air, if air feeds it"  # fmt: skip


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
    found = sealed_share_at(fair, run, ohms)
    if found is None:
        return f"No load of this run was read with air as well, in {fair.name}", "read it at a load of that run"  # fmt: skip
    at, share = found
    said = f"Without air {100.0 * share:.0f} % of the current is left at {units.plain(at, 3)} ohm: "
    if share <= SEALED_MAY_KEEP:
        return f"{said}it is the air that feeds {name}", ""
    row = _row(bench, name) if name else None
    if row is not None and row.cleared:
        proof = row.detail.partition("; with the air face")[0]  # the share is said already
        return f"{said}a hint at its own charge or dissolved oxygen; but {proof}", ""
    said += "its own charge or dissolved oxygen can do that; a hint, and no proof"
    return said, SEAL_AGAIN if row is None else row.next_step


def still_to_seal(bench: BenchFile, electrode: str) -> AirOrBattery | None:
    """Why nobody can tell yet whether air feeds an electrode, with the act that tells; None where it is told."""
    row = _row(bench, electrode)
    return row if row is not None and not row.cleared and row.next_step else None


def tape_off_at_close(bench: BenchFile, run: Run) -> str:
    """What to do once a taped run is closed; "" of any other run, and once its piece was read again."""
    if run.sort is not RunSort.SEALED_FACE or not run.finished:
        return ""
    newest = _newest(bench, run.electrode, but="")
    if newest is not None and newest.name != run.name:
        return ""
    return f"Take the tape off the air face of {run.electrode} now"


def tape_off_first(
    bench: BenchFile, electrode: str, sort: RunSort = RunSort.LOADS, *, run: str = ""
) -> str:
    """What comes before a run with air where the piece was read with its face taped the last time.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : str
        Its name; "" for none.
    sort : RunSort
        Of the run that is about to begin.
    run : str
        The name of that run, where it is begun already.

    Returns
    -------
    str
        A sentence; "" where no tape is to be expected, or where it is to stay.
    """
    if not electrode or sort in {RunSort.SEALED_FACE, RunSort.CHECK_CELL}:
        return ""
    newest = _newest(bench, electrode, but=run)
    if newest is None or newest.sort is not RunSort.SEALED_FACE:
        return ""
    return "Take the tape off first: its last run was with the face taped."


def _newest(bench: BenchFile, electrode: str, *, but: str) -> Run | None:
    """The newest run of an electrode in which something was read, seen or logged, leaving out `but`."""
    made = [
        one
        for one in _runs(bench, electrode)
        if one.name != but
        and one.sort is not RunSort.CHECK_CELL
        and (one.readings or one.observations or one.sort is RunSort.RUN_DOWN)
    ]
    return max(made, key=lambda one: (one.session, one.started, one.order or 0), default=None)


def _runs(bench: BenchFile, electrode: str) -> list[Run]:
    """The runs of an electrode, by its own name or by its cell."""
    own = bench.all(Run, of=electrode)
    for cell in bench.all(Cell, of=electrode):
        own += bench.all(Run, of=cell.name)
    return [one for one in own if one.electrode in {electrode, ""}]


def _row(bench: BenchFile, electrode: str) -> AirOrBattery | None:
    rows = air_or_battery_rows(study_of(bench, (electrode,)))
    return next((one for one in rows if one.electrode == electrode), None)


def _counted(run: Run) -> list[Reading]:
    """Readings that nobody doubts, took back or replaced."""
    return [one for one in taken_readings(run) if not one.doubt]


def _with_air(bench: BenchFile, electrode: str) -> Run | None:
    """The newest run of load steps of an electrode that has a reading that counts."""
    own = _runs(bench, electrode)
    fair = [one for one in own if one.sort is RunSort.LOADS and _counted(one)]
    return max(fair, key=lambda one: (one.session, one.order or 0), default=None)
