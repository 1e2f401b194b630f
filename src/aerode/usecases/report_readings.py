"""The readings of a report: every run of its pieces, with what was doubted or corrected marked as such."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.run_readings import was_taken_back
from aerode.records.electrodes import Cell
from aerode.records.reports import Section, Table
from aerode.records.runs import Run, RunSort, Settling
from aerode.usecases.report_tables import whole_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.comparisons import Comparison
    from aerode.records.runs import Reading
    from aerode.store.bench_file import BenchFile

__all__ = ["other_table", "reading_table", "readings_section"]

_MOST_LOADS = 11
"""Loads that have columns of their own; runs with more are told as lines."""
_MOST_READINGS = 24
"""Judgement: of a longer run the first and the last reading stand, and how many there are."""

_SETTLED = {
    Settling.SETTLED: "settled",
    Settling.EXTRAPOLATED: "not settled, carried on to where it was going",
    Settling.NOT_SETTLED: "not settled",
    Settling.NOT_KNOWN: "not noted whether settled",
}
"""What is known of a reading without load, in words that stand by themselves."""

_NAMED = 4
"""Judgement: so many runs are named in a sentence; of more, their number."""


def readings_section(bench: BenchFile, comparison: Comparison) -> Section:
    """The readings of every run of the pieces compared, of whatever sort.

    Parameters
    ----------
    bench : BenchFile
        Open.
    comparison : Comparison

    Returns
    -------
    Section
        The runs of load steps in one table, all others that were read in a second. Looks at a seep
        test are no readings: they stand with the leaks.
    """
    names = {p.electrode for p in comparison.pieces}
    used = {run for p in comparison.pieces for run in p.runs}
    cells = {cell.name for cell in bench.all(Cell) if cell.electrode in names}
    runs = [
        run
        for run in bench.all(Run)
        if run.readings
        and (run.name in used or (run.electrode in names if run.electrode else run.cell in cells))
    ]
    steps = [run for run in runs if run.sort is RunSort.LOADS]
    others = [run for run in runs if run.sort is not RunSort.LOADS]
    tables = [*([reading_table(steps)] if steps else []), *([other_table(others)] if others else [])]  # fmt: skip
    return Section(
        name="data",
        title="The readings",
        sentence=_sentence(steps, others, used),
        tables=tuple(tables),
        lines=tuple(
            f"Kept but not used: {r.run}, reading {r.index + 1} ({r.text}): {r.why}"
            for r in comparison.refused
        ),
    )


def _sentence(steps: Sequence[Run], others: Sequence[Run], used: set[str]) -> str:
    """What the tables hold, and what they do not."""
    said = ["As they were taken, of every run of these pieces"]
    if others:
        said[0] += ", runs other than load steps in a table of their own"
    unused = [run.name for run in steps if run.name not in used]
    if unused:
        few = ", ".join(unused) if len(unused) <= _NAMED else f"{len(unused)} of them"
        said.append(f"No verdict rests on {few}")
    told = [r for run in (*steps, *others) for r in run.readings]
    marked = any(r.doubt or r.replaces is not None for r in told)
    if marked:
        said.append("What was doubted, or corrected later, is marked")
    watched = sum(1 for r in told if r.trace)
    if watched:
        said.append(
            f"Of {watched} load{' that was' if watched == 1 else 's that were'} watched the value that was kept stands here; "
            "the timed readings behind it are in the bench file"
        )
    if any(len(run.readings) > _MOST_READINGS for run in (*steps, *others)):
        said.append(
            f"Of a run of more than {_MOST_READINGS} readings the first and the last stand here; "
            "all of them are in the bench file"
        )
    return ". ".join(said) + "."


def reading_table(runs: Sequence[Run]) -> Table:
    """The readings of runs of load steps in the order of the day: a column for each load where they fit.

    Parameters
    ----------
    runs : sequence of Run
        With the readings that stand in the report.

    Returns
    -------
    Table
        Voltages [V], currents of an ammeter with their unit. A reading that is doubted or was
        corrected stands before the one that counts.
    """
    ordered = _in_order(runs)
    caption = "Readings of every run of load steps, in the order of the day, in V"
    told = [_told(run) for run in ordered]
    names = list(dict.fromkeys(load for row in told for load, _, _ in row))
    once = all(
        len({load for load, _, counts in row if counts}) == sum(counts for *_, counts in row)
        for row in told
    )
    if once and len(names) <= _MOST_LOADS:
        return Table(
            caption=caption,
            columns=("run", "order", *names),
            rows=tuple(
                (whole_name(run.name), _order(run), *(_of_load(row, name) for name in names))
                for run, row in zip(ordered, told, strict=True)
            ),
            numbers=tuple(range(1, len(names) + 2)),
            folded=True,
        )
    return Table(
        caption=caption,
        columns=("run", "order", "readings"),
        rows=tuple((run.name, _order(run), _line(run)) for run in ordered),
        numbers=(1,),
        folded=True,
    )


def other_table(runs: Sequence[Run]) -> Table:
    """The readings of runs that are no load steps, each run a line with what kind it is.

    Parameters
    ----------
    runs : sequence of Run
    """
    return Table(
        caption="Readings of the other runs of these pieces, in V",
        columns=("run", "kind", "order", "readings"),
        rows=tuple((run.name, str(run.sort), _order(run), _line(run)) for run in _in_order(runs)),
        numbers=(2,),
        folded=True,
    )


def _in_order(runs: Sequence[Run]) -> list[Run]:
    return sorted(runs, key=lambda run: (run.session, run.order or 0))


def _order(run: Run) -> str:
    return "–" if run.order is None else str(run.order)


def _told(run: Run) -> list[tuple[str, str, bool]]:
    """Load, reading and whether it counts, of each reading of a run."""
    replaced = {r.replaces for r in run.readings if r.replaces is not None}
    return [
        (_load(r), f"{_read(r)}{_mark(r, k in replaced)}", not r.doubt and k not in replaced)
        for k, r in enumerate(run.readings)
    ]


def _load(reading: Reading) -> str:
    if reading.load:
        return reading.load
    return f"{reading.resistance:g} ohm" if reading.resistance is not None else "ammeter"


def _mark(reading: Reading, replaced: bool) -> str:
    if replaced:
        return " (corrected)"
    if reading.doubt:
        return " (taken back)" if was_taken_back(reading) else " (doubted)"
    return ""


def _of_load(row: Sequence[tuple[str, str, bool]], name: str) -> str:
    """What a run read at one load, what does not count first."""
    found = sorted((one for one in row if one[0] == name), key=lambda one: one[2])
    return ", ".join(text for _, text, _ in found) or "–"


def _line(run: Run) -> str:
    """The readings of a run as a line; of a long one the first and the last."""
    told = [f"{load}: {text}" for load, text, _ in _told(run)]
    if len(told) > _MOST_READINGS:
        return f"{told[0]} to {told[-1]} ({len(told)} readings)"
    return ", ".join(told)


def _read(reading: Reading) -> str:
    if reading.voltage is None:
        return f"{units.plain((reading.current or 0.0) * 1e3, 4)} mA"
    still = (
        f" ({_SETTLED[reading.settling]})" if reading.load == "open" and reading.settling else ""
    )
    return f"{reading.voltage:.3f}{still}"
