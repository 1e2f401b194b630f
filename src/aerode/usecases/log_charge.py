"""What the log of a run-down drew from its electrode, over the load that its run names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError
from aerode.measure.log_drawn import clean_rows, log_drawn
from aerode.measure.meters import resistor, voltmeter
from aerode.measure.run_plans import OPEN
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument
from aerode.store.series_tail import chunks_of
from aerode.usecases.log_long import is_log, load_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from aerode.measure.log_drawn import Floats, LogDrawn
    from aerode.measure.meters import Resistor
    from aerode.records.runs import Run
    from aerode.store.bench_file import BenchFile

__all__ = ["charges_logged", "drawn_by_log", "drawn_words", "rows_over_load"]


def drawn_by_log(bench: BenchFile, run: Run) -> LogDrawn | None:
    """What the log of a run drew; None where it has no rows, or is no log.

    Parameters
    ----------
    bench : BenchFile
        Open.
    run : Run
    """
    if not is_log(run):
        return None
    try:
        chunks, whole = chunks_of(bench, run.name)
    except AerodeError:
        return None
    if "voltage" not in whole.ranges or "time" not in whole.ranges:
        return None
    instruments = {part.name: part for part in bench.all(Instrument)}
    part = _load(run, instruments)
    meter = voltmeter(
        instruments.get(run.meter), run.voltage_range, [whole.ranges["voltage"][1]], unnamed=run.name
    )  # fmt: skip
    return log_drawn(
        chunks,
        resistance=None if part is None else part.resistance,
        load_uncertainty=0.0 if part is None else part.relative_uncertainty,
        meter_uncertainty=meter.gain,
    )


def _load(run: Run, instruments: dict[str, Instrument]) -> Resistor | None:
    said = load_of(run)
    if not said or said == OPEN:
        return None
    if said in instruments:
        return resistor(said, None, instruments, unnamed=run.name)
    try:
        ohms = units.read(said, "ohm", bare=("ohm",), field="load").value
    except AerodeError:
        return None
    return resistor("", ohms, instruments, unnamed=run.name)


def rows_over_load(bench: BenchFile, run: Run) -> tuple[Floats, Floats, float] | None:
    """Time [s] and voltage [V] of a logged run-down, arrays (n,), and the resistance of its load [ohm].

    Parameters
    ----------
    bench : BenchFile
        Open.
    run : Run

    Returns
    -------
    tuple or None
        None where it is no log, its load is not known, or it has fewer than two rows.
    """
    part = _load(run, {one.name: one for one in bench.all(Instrument)}) if is_log(run) else None
    if part is None:
        return None
    chunks, whole = chunks_of(bench, run.name)
    if "voltage" not in whole.ranges or "time" not in whole.ranges:
        return None
    time, volts = clean_rows(chunks)
    return (time, volts, part.resistance) if time.size > 1 else None


def charges_logged(bench: BenchFile, runs: Iterable[Run]) -> dict[str, float]:
    """The charge that each logged run drew [C], by its name; those of which it is not known are left out."""
    found = {run.name: drawn_by_log(bench, run) for run in runs if is_log(run)}
    return {name: one.charge for name, one in found.items() if one is not None and one.charge}


def drawn_words(bench: BenchFile, run: Run) -> tuple[str, ...]:
    """What a log drew, in sentences without their full stop: charge and energy, then what is doubted.

    Parameters
    ----------
    bench : BenchFile
        Open.
    run : Run
    """
    found = drawn_by_log(bench, run)
    if found is None:
        return ()
    said: list[str] = []
    if found.charge is not None and found.energy is not None:
        charge = units.write(found.charge, "C", found.charge_uncertainty, to="mAh")
        energy = units.write(found.energy, "J", found.energy_uncertainty, to="mWh")
        per_area = ""
        piece = bench.find(Electrode, run.electrode) if run.electrode else None
        area = piece.wetted_area if piece is not None else None
        if area is not None and area.value > 0.0:
            spread = found.charge / area.value * _relative(found, area.standard_uncertainty, area.value)  # fmt: skip
            per_area = (
                f" ({units.write(found.charge / area.value, 'C/m^2', spread, to='mAh/cm^2')})"
            )
        said.append(f"it drew {charge}{per_area} and gave {energy} to the end of the log")
    elif load_of(run) != OPEN:
        said.append("what it drew is not known: neither its current nor its load was noted")
    if found.doubtful and found.usual is not None:
        some = "one reading" if found.doubtful == 1 else f"{found.doubtful} readings"
        at = units.plain((found.doubtful_at or 0.0) / 3600.0, 3)
        said.append(
            f"{some} near nothing, the first at {at} h after {units.plain(found.usual, 3)} V, "
            f"{'is' if found.doubtful == 1 else 'are'} doubtful: a lead that came off? "
            "Left out of what was drawn"
        )
    return tuple(said)


def _relative(found: LogDrawn, area_uncertainty: float | None, area: float) -> float:
    own = found.charge_uncertainty / found.charge if found.charge else 0.0
    return (own**2 + ((area_uncertainty or 0.0) / area) ** 2) ** 0.5
