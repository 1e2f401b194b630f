"""Place a reading of the tray: it becomes a run of its own, and the tray keeps where it went."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import InputError
from aerode.measure.impossible import impossible_current, impossible_voltage
from aerode.records.electrodes import Cell, Electrode
from aerode.records.runs import Reading, Run, RunPlan, RunSort, Unsorted
from aerode.usecases.run_instruments import resistors_of
from aerode.usecases.run_keeping import unused

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["place_reading"]


def place_reading(bench: BenchFile, name: str, electrode: str, *, load: str = "") -> str:
    """Make a run of one reading out of the tray.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    name : str
        Of the reading in the tray.
    electrode : str
        Whose reading it is.
    load : str
        The resistor, where the reading does not say it: a resistor of the bench, or a value such
        as "15 ohm".

    Returns
    -------
    str
        The name of the run.

    Raises
    ------
    NotFoundError
        No such reading, no such electrode.
    InputError
        It was placed already; or no electrode was named.
    """
    entry = bench.get(Unsorted, name)
    if entry.placed_in:
        raise InputError(f"{name} is in {entry.placed_in} already", where=name)
    if not electrode:
        raise InputError("say whose reading it is", where=name, allowed="an electrode of this bench")  # fmt: skip
    bench.get(Electrode, electrode)
    known, resistance = "", entry.resistance
    if load and load in resistors_of(bench):
        known = load
    elif load.lower() in {"open", "none", "no load"}:
        known = "open"
    elif load:
        resistance = units.read(load, "ohm", field="load").value
    why = impossible_voltage(entry.voltage) if entry.voltage is not None and known != "open" else ""
    if not why and entry.current is not None:
        why = impossible_current(entry.current)
    reading = Reading(
        load=known,
        resistance=None if known else resistance,
        voltage=entry.voltage,
        current=entry.current,
        text=entry.text,
        doubt=why,
        note=entry.note,
    )
    cells = [cell.name for cell in bench.all(Cell, of=electrode)]
    day = entry.at[:10]
    run = Run(
        name=unused(f"{electrode} {name}", set(bench.names(Run))),
        cell=cells[-1] if cells else "",
        electrode=electrode,
        sort=RunSort.SHORT_CIRCUIT if entry.voltage is None else RunSort.LOADS,
        plan=RunPlan.RETRO,
        session=day,
        started=entry.at,
        readings=(reading,),
        wait_rule="not known: filed in passing",
        finished=True,
        note=entry.note,
    )
    bench.put_all([run, replace(entry, placed_in=run.name)], why=f"placed {name}")
    return run.name
