"""Fit one run: readings of the bench, or any table of loads and voltages, to a curve and what it can tell."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.devices.tables import is_open, read_table
from aerode.errors import InputError, NotFoundError, RangeError, some_of
from aerode.measure.area import Area, area_from_text
from aerode.measure.fitting import AskedCurrent, fit
from aerode.measure.meters import meter_from_text
from aerode.measure.readings import read_run
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument
from aerode.records.marks import Entry
from aerode.records.runs import Reading, Run, RunSort
from aerode.usecases.run_cells import cell_of_bench_run
from aerode.usecases.run_instruments import resistors_at_hand
from aerode.usecases.table_hints import as_options

if TYPE_CHECKING:
    from pathlib import Path

    from aerode.devices.tables import Table
    from aerode.records.electrodes import Cell
    from aerode.records.fits import Fit
    from aerode.store.bench_file import BenchFile

__all__ = ["FitQuestion", "fit_bench_run", "fit_table"]

_METER = "meter"


@dataclass(frozen=True, slots=True, kw_only=True)
class FitQuestion:
    """What is asked of a run, as typed; "" where it was not said.

    `at` holds currents or current densities at which the voltage is wanted; `columns` and `units`
    hold what a person says of a table that its headings do not say ("voltage=U cell",
    "voltage=mV"); `decimal` the decimal mark, `dates` the order of day, month and year ("d/m/y").
    """

    area: str = ""
    at: tuple[str, ...] = ()
    meter: str = ""
    resistor_tolerance: str = ""
    lead: str = ""
    columns: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    decimal: str = ""
    dates: str = ""
    seed: int = 1


def fit_table(source: str | bytes | Path, question: FitQuestion, *, name: str = "") -> Fit:
    """The curve of one table of readings, without any bench.

    Parameters
    ----------
    source : str, bytes or Path
        A text, the bytes of a file, or its path: columns such as `resistance_ohm`, `voltage_V`
        or `current_mA`, `voltage_V`.
    question : FitQuestion
        Area, meter, resistors and where the voltage is wanted.
    name : str
        What to call it; the file's name by default.

    Returns
    -------
    Fit

    Raises
    ------
    TableError
        If the table cannot be taken, or holds no load or current beside the voltage.
    CannotTellError
        With fewer than three usable loads; the reasons of the refused rows are in it.

    Examples
    --------
    >>> text = "R (ohm);U (V)\\n470;0,649\\n220;0,597\\n100;0,540\\n47;0,467\\n22;0,381\\n10;0,270\\n"
    >>> answer = fit_table(text, FitQuestion(area="4 cm^2", at=("5 mA/cm^2",)), name="A")
    >>> answer.voltage_at[0].voltage.identifiable
    True
    """
    told = _pairs(question.columns, "--column", "voltage=HEADING")
    area = area_from_text(question.area) if question.area else None
    with as_options():
        table = read_table(
            source,
            name=name,
            mapping={role: int(at) if at.isdigit() else at for role, at in told.items()},
            units=_pairs(question.units, "--unit", "voltage=mV"),
            decimal=question.decimal,
            dates=question.dates,
        )
        readings = _readings(table, area)
    meter = meter_from_text(question.meter, name=_METER) if question.meter else None
    run = Run(
        name=table.name[:80],
        meter=_METER if meter is not None else "",
        readings=readings,
    )
    answer = _fitted(run, {} if meter is None else {_METER: meter}, question, area)
    return replace(answer, assumptions=(*table.understood, *answer.assumptions))


def fit_bench_run(bench: BenchFile, name: str, question: FitQuestion) -> Fit:
    """The curve of one run of the bench, with its own meter, resistors, area and leads.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        The run, or an electrode of which there is one run of load steps only.
    question : FitQuestion
        What stands in it goes before what the bench says.

    Returns
    -------
    Fit

    Raises
    ------
    NotFoundError
        If there is no such run.
    InputError
        If an electrode was named that has several runs.
    CannotTellError
        With fewer than three usable loads; the reasons of the refused readings are in it.
    """
    run = _run_of(bench, name)
    instruments = {i.name: i for i in bench.all(Instrument)}
    if question.meter:
        instruments[_METER] = meter_from_text(question.meter, name=_METER)
        run = replace(run, meter=_METER, voltage_range="")
    cell = cell_of_bench_run(bench, run).cell
    electrode_name = run.electrode or (cell.electrode if cell is not None else "")
    electrode = bench.find(Electrode, electrode_name) if electrode_name else None
    area = area_from_text(question.area) if question.area else None
    owned = tuple(resistors_at_hand(bench).values())
    return _fitted(run, instruments, question, area, electrode=electrode, cell=cell, at_hand=owned)


def _fitted(
    run: Run,
    instruments: dict[str, Instrument],
    question: FitQuestion,
    area: Area | None,
    *,
    electrode: Electrode | None = None,
    cell: Cell | None = None,
    at_hand: tuple[float, ...] = (),
) -> Fit:
    data = read_run(
        run,
        instruments,
        electrode=electrode,
        cell=cell,
        area=area,
        resistor_tolerance=_tolerance(question.resistor_tolerance),
        lead=_lead(question.lead),
    )
    at = tuple(_asked(text) for text in question.at)
    return fit(data, at=at, seed=question.seed, at_hand=at_hand)


def _run_of(bench: BenchFile, name: str) -> Run:
    run = bench.find(Run, name)
    if run is not None:
        return run
    own = [r for r in bench.all(Run) if r.electrode == name and r.sort is RunSort.LOADS]
    if len(own) == 1:
        return own[0]
    if not own:
        if bench.find(Electrode, name) is None:
            return bench.get(Run, name)  # refuses with the nearest names
        raise NotFoundError(
            f"electrode {name} has no run of load steps",
            where=name,
            next_step=f"measure it: aerode log run --electrode {name}",
        )
    raise InputError(
        f"electrode {name} has {len(own)} runs of load steps",
        where=name,
        allowed=some_of((r.name for r in own), 8),
        next_step="name one of the runs",
    )


def _readings(table: Table, area: Area | None) -> tuple[Reading, ...]:
    """The rows as readings; a row with a refused cell is kept with its reason."""
    voltage = table.column("voltage")
    load, current = table.find("resistance"), table.find("current")
    density, temperature = table.find("current_density"), table.find("temperature")
    if load is None and current is None and (density is None or area is None):
        table.column("resistance" if density is None else "area")  # refuses and lists what is there
    doubts = {r.line: f"{r.where}: {r.why}" for r in table.refused}
    readings: list[Reading] = []
    for row, line in enumerate(table.lines):
        amperes = current.values[row] if current is not None else None
        if density is not None and area is not None and amperes is None:
            per_area = density.values[row]
            amperes = None if per_area is None else per_area * area.value
        ohms = load.values[row] if load is not None else None
        opened = load is not None and (is_open(load.raw[row]) or (ohms is None and amperes is None))
        kelvin = temperature.values[row] if temperature is not None else None
        readings.append(
            Reading(
                load="open" if opened or amperes == 0.0 else "",
                resistance=ohms if ohms is not None and ohms > 0.0 else None,
                voltage=voltage.values[row],
                current=amperes,
                temperature=kelvin,
                text=f"line {line}",
                doubt=doubts.get(line, ""),
            )
        )
    return tuple(readings)


def _pairs(texts: tuple[str, ...], option: str, example: str) -> dict[str, str]:
    pairs: dict[str, str] = {}
    for text in texts:
        role, _, value = text.partition("=")
        pairs[role.strip().replace(" ", "_")] = value.strip()
    if not all(role and value for role, value in pairs.items()):
        raise InputError(
            f"{' '.join(texts)!r} does not say which column is what",
            where=option,
            allowed=f'a quantity and what stands for it, as in "{example}"',
        )
    return pairs


def _tolerance(text: str) -> float | None:
    if not text:
        return None
    value = units.read(text, "", field="--resistor-tolerance").value
    if not 0.0 < value < 0.5:
        raise RangeError(
            f"a tolerance of {text!r} is not believable",
            where="--resistor-tolerance",
            allowed='more than 0 and less than 50 %, as in "1 %"',
            next_step="write the % sign",
        )
    return value


def _lead(text: str) -> Entry | None:
    if not text:
        return None
    typed = units.read(text, "ohm", plausible=(0.0, 100.0), field="--lead")
    return Entry(value=typed.value, standard_uncertainty=typed.standard_uncertainty, text=text)


def _asked(text: str) -> AskedCurrent:
    number, unit = units.read_number(text)
    if unit and units.same_kind(unit, "A"):
        asked = AskedCurrent(units.convert(number, unit, "A"), per_area=False)
    elif unit and units.same_kind(unit, "A/m^2"):
        asked = AskedCurrent(units.convert(number, unit, "A/m^2"), per_area=True)
    else:
        raise InputError(
            f"{text!r} is neither a current nor a current density"
            if unit
            else f"{text!r} has no unit",
            where="--at",
            allowed='a current ("20 mA") or a current density ("5 mA/cm^2")',
            next_step="write the unit behind the number"
            if not unit
            else "the current at one voltage is what `aerode compare` gives",
        )
    if not asked.value > 0.0:
        raise RangeError(f"{text!r} is not above zero", where="--at", allowed="more than 0")
    return asked
