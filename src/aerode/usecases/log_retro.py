"""One line of an old notebook, entered as a run of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.impossible import impossible_voltage
from aerode.records.electrodes import Electrode
from aerode.records.logs import LogAnswer, Taken
from aerode.records.runs import Reading, Run, RunPlan, RunSort, Settling
from aerode.usecases.dates import read_date
from aerode.usecases.log_reading import understand
from aerode.usecases.log_run import WAIT_RULES, cell_of
from aerode.usecases.run_keeping import new_run, unused

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from aerode.store.bench_file import BenchFile

__all__ = ["log_retro"]


def log_retro(
    bench: BenchFile,
    electrode: str,
    words: Sequence[str],
    *,
    date: str,
    note: str,
    moment: datetime,
) -> LogAnswer:
    """Enter one line of an old notebook as a run of its own: a voltage, a resistor, a date.

    Raises
    ------
    NotFoundError
        No electrode of this name.
    UnitError
        No reading in the line; or the date is none, or can be read in two ways.
    """
    bench.get(Electrode, electrode)
    text = " ".join(words)
    found = understand(text)
    doubt = impossible_voltage(found.voltage) if found.voltage is not None else ""
    reading = Reading(
        resistance=found.resistance,
        voltage=found.voltage,
        current=found.current,
        settling=Settling.NOT_KNOWN,
        text=text,
        doubt=doubt,
    )
    typed = read_date(date, field="--date")
    day = typed.iso or moment.date().isoformat()
    name = unused(f"{electrode} retro {day}", {run.name for run in bench.all(Run)})
    run = Run(
        name=name,
        cell=cell_of(bench, electrode),
        electrode=electrode,
        sort=RunSort.SHORT_CIRCUIT if found.voltage is None else RunSort.LOADS,
        plan=RunPlan.RETRO,
        session=day,
        started=day,
        readings=(reading,),
        wait_rule=WAIT_RULES[RunPlan.RETRO],
        finished=True,
        note="; ".join(filter(None, [note, typed.understood and f"date typed as {date.strip()}"])),
    )
    run = new_run(bench, run, why="entered from a notebook").run
    name = run.name
    line = Taken(
        text=text,
        understood=", ".join(found.understood),
        load="" if found.resistance is None else f"{found.resistance:g} ohm",
        voltage=found.voltage,
        current=found.current,
        settling=str(reading.settling),
        doubt=doubt,
    )
    return LogAnswer(
        headline=f"Entered as {name}: {', '.join([*found.understood, *filter(None, [typed.understood])])}.",
        run=name,
        taken=(line,),
        finished=True,
    )
