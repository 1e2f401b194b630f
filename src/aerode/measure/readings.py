"""A run and its instruments as arrays: what was read, which errors are shared, and what was refused and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aerode import units
from aerode.measure.area import Area, area_from_entry
from aerode.measure.early_readings import WORTH_SAYING, Movement, may_still_move, movement_of
from aerode.measure.impossible import (
    contradictions,
    current_and_load_disagree,
    impossible_current,
    impossible_voltage,
)
from aerode.measure.meters import (
    Ammeter,
    Resistor,
    Voltmeter,
    ammeter,
    resistor,
    voltmeter,
)
from aerode.measure.run_data import Point, ReadingKind, RunData
from aerode.measure.settling import settled_voltage
from aerode.records.electrodes import Cell, Electrode, Sensing
from aerode.records.instruments import Instrument
from aerode.records.marks import Entry
from aerode.records.runs import Reading, Run, Settling

__all__ = ["NOT_MEASURED", "Point", "ReadingKind", "RunData", "read_run"]

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

LEAST_CURRENT_DENSITY = 0.5
"""[A/m^2] = 0.05 mA/cm^2: below it the voltage is a mixed potential that no kinetic line describes."""
_LEAST_AREA = 1e-4
"""[m^2]; judgement: stands in for the area in that rule where none is known, so that little is left out."""
_HYSTERESIS = 0.010
"""[V]; judgement: the same load read further apart than this is pointed out."""
NOT_MEASURED = "not measured"
"""How an entry was come by that nobody measured."""
_LEADS = (0.1, 0.5)
"""[ohm]; span of lead and contact resistance of a hand-made cell. Common practice, no source."""


@dataclass(slots=True)
class _Taken:
    """One reading on its way into the arrays."""

    index: int
    reading: Reading
    kind: ReadingKind | None = None
    why_not: str = ""
    voltage: float | None = None
    current: float | None = None
    extrapolation: float = 0.0
    early: float = 0.0
    part: Resistor | None = None
    meter: Ammeter | None = None


def read_run(
    run: Run,
    instruments: Mapping[str, Instrument],
    *,
    electrode: Electrode | None = None,
    cell: Cell | None = None,
    area: Area | None = None,
    resistor_tolerance: float | None = None,
    lead: Entry | None = None,
) -> RunData:
    """A run as arrays with its shared errors named, every impossible or unsettled reading kept out with a reason.

    Parameters
    ----------
    run : Run
        The run with its readings.
    instruments : mapping
        The bench's instruments by name; empty where there is no bench.
    electrode : Electrode, optional
        For its wetted area and the resistance of its tab.
    cell : Cell, optional
        For the sensing and the lead resistance.
    area : Area, optional
        Takes the place of the electrode's own.
    resistor_tolerance : float, optional [1]
        Limit of error of resistors that name none; a class is assumed otherwise.
    lead : Entry, optional [ohm]
        Takes the place of the lead resistance of cell and tab.

    Returns
    -------
    RunData
        Possibly with no usable reading at all; `points` then says why for each.

    Notes
    -----
    V and I = V/R over one resistor are one datum: the voltage enters, the resistor's error is shared
    by all readings that use the part. The meter is always parallel to the load. An ammeter across
    the cell is a load of its burden. A voltage at the clips is corrected to the tab by I·r, and
    where r is not known the leads count as part of the cell; with a sense wire r is in series with
    the load. What was read before the waiting time of the plan was over, and nobody watched to its
    rest, carries what it may still move by: one error of the whole run. Open circuit and currents below 0.05 mA/cm² are mixed potentials and stay out.

    Examples
    --------
    >>> run = Run(name="A", readings=(Reading(resistance=15.0, voltage=0.400),
    ...                               Reading(resistance=6.8, voltage=-0.3)))
    >>> data = read_run(run, {})
    >>> data.voltage.tolist(), data.refused[0].why_not[:14]
    ([0.4], '-0.3 V is nega')
    """
    if area is None and electrode is not None and electrode.wetted_area is not None:
        area = area_from_entry(electrode.wetted_area)
    names = _Names(run)
    volts = voltmeter(
        instruments.get(run.meter),
        run.voltage_range,
        [r.voltage for r in run.readings if r.voltage is not None and r.voltage < 3.0],
        unnamed=names.meter,
    )
    taken = [_Taken(index, reading) for index, reading in enumerate(run.readings)]
    sensing = cell.sensing if cell is not None else Sensing.CLIPS
    lead_value, lead_spread, lead_said = _lead(cell, electrode, lead, sensing)
    open_to_doubt = any(
        r.settling is not Settling.SETTLED and (r.trace or r.waited is not None)
        for r in run.readings
    )
    movement = movement_of(run, volts.count) if open_to_doubt else Movement()
    for one in taken:
        _sort_out(one, run, instruments, volts, names, resistor_tolerance, area, movement)
    _refuse_contradictions(taken, lead_value)
    return _arrays(
        run, electrode, taken, volts, (lead_value, lead_spread, lead_said), sensing, area, names,
        movement,
    )  # fmt: skip


@dataclass(slots=True)
class _Names:
    """What to call things that have no name: nothing is shared beyond what is known to be shared."""

    run: Run

    @property
    def meter(self) -> str:
        return self.run.name

    @property
    def resistors(self) -> str:
        return self.run.session or self.run.name

    @property
    def lead(self) -> str:
        return f"lead of {self.run.cell or self.run.electrode or self.run.name}"


def _lead(
    cell: Cell | None, electrode: Electrode | None, given: Entry | None, sensing: Sensing
) -> tuple[float, float, str]:
    """Resistance, standard uncertainty, and a sentence where it is assumed."""
    tab = electrode.tab.resistance if electrode is not None and electrode.tab is not None else None
    entry = given or (cell.lead_resistance if cell is not None else None) or tab
    if entry is not None:
        spread = entry.standard_uncertainty
        if entry.how == NOT_MEASURED and spread is not None:
            return entry.value, spread, _unmeasured(entry.value)
        said = (
            ""
            if spread is not None
            else "lead resistance: no uncertainty given, a fifth of it assumed"
        )
        # common practice, no source: a fifth
        return entry.value, 0.2 * entry.value if spread is None else spread, said
    if sensing is Sensing.CLIPS:
        return 0.0, 0.0, _unmeasured(0.0)
    low, high = _LEADS
    said = f"lead resistance not measured: {low:g} to {high:g} ohm assumed in series with the load"
    return 0.5 * (low + high), (high - low) / 12.0**0.5, said


def _unmeasured(taken: float) -> str:
    head = "lead and contact resistance not measured: "
    return f"{head}{taken:g} ohm taken" if taken > 0 else f"{head}it counts as part of the cell"


def _sort_out(
    one: _Taken,
    run: Run,
    instruments: Mapping[str, Instrument],
    volts: Voltmeter,
    names: _Names,
    tolerance: float | None,
    area: Area | None,
    movement: Movement,
) -> None:
    """Find the kind of one reading and what it is worth, or why it is not used."""
    reading = one.reading
    later = [k for k, r in enumerate(run.readings) if r.replaces == one.index]
    if later:
        one.why_not = f"replaced by reading {later[-1] + 1}"
    elif reading.doubt:
        one.why_not = reading.doubt
    elif reading.load == "open":
        one.why_not = (
            "open circuit: no current flows, and what is read is a balance of side reactions "
            "(a mixed potential), never a point of the curve"
        )
    one.voltage, one.current = reading.voltage, reading.current
    if one.why_not:
        return
    _settle(one, volts, movement)
    if reading.current is not None:
        one.meter = ammeter(
            instruments.get(run.meter), reading.current_range,
            [] if not reading.current_range else [reading.current], unnamed=names.meter,
        )  # fmt: skip
    one.part = resistor(
        reading.load, reading.resistance, instruments, tolerance=tolerance, unnamed=names.resistors
    )
    one.why_not = one.why_not or _why_not(one, volts, area)


def _settle(one: _Taken, volts: Voltmeter, movement: Movement) -> None:
    reading = one.reading
    early = may_still_move(reading, movement, volts.count)
    one.early = early or 0.0
    if reading.trace and reading.settling is not Settling.SETTLED and not early:
        settled = settled_voltage(reading.trace, count=volts.count)
        if settled.voltage is None:
            one.why_not = f"not settled: {settled.reason}"
        else:
            one.voltage, one.extrapolation = settled.voltage, settled.standard_uncertainty
    elif early is None:
        one.why_not = (
            "not settled, and no timed readings to tell where it goes: wait, then read again"
        )


def _why_not(one: _Taken, volts: Voltmeter, area: Area | None) -> str:
    """Sort a settled reading into its kind, or say why it is none."""
    v, i, part, meter = one.voltage, one.current, one.part, one.meter
    if v is None and i is None:
        return "no number in it"
    if v is not None and (why := impossible_voltage(v, volts.full_scale)):
        return why
    if i is not None and meter is not None:
        full = meter.full_scale if one.reading.current_range else np.inf
        if why := impossible_current(i, full, area.value if area is not None else None):
            return why
    if v is not None and part is not None:
        one.kind = ReadingKind.LOAD
        if i is not None and meter is not None:
            spread = float(np.hypot(part.relative_uncertainty, np.hypot(volts.gain, meter.gain)))
            return current_and_load_disagree(v, i, part.resistance, spread)
    elif v is not None and i is not None:
        one.kind = ReadingKind.PAIR
    elif i is not None and meter is not None:
        one.kind = ReadingKind.AMMETER
        one.voltage = i * meter.burden
    else:
        return "a voltage without its load: name the resistor, or 'open' for none"
    return _too_small(one, area)


def _too_small(one: _Taken, area: Area | None) -> str:
    current = _rough_current(one)
    limit = LEAST_CURRENT_DENSITY * (area.value if area is not None else _LEAST_AREA)
    if current >= limit:
        return ""
    return (
        f"{current * 1e3:.3g} mA is below 0.05 mA/cm^2: nearly open circuit, "
        "where side reactions set the voltage (a mixed potential): no point of the curve"
    )


def _rough_current(one: _Taken) -> float:
    if one.kind is ReadingKind.LOAD and one.voltage is not None and one.part is not None:
        return one.voltage / one.part.resistance
    return one.current or 0.0


def _refuse_contradictions(taken: list[_Taken], lead: float) -> None:
    usable = [t for t in taken if not t.why_not and t.voltage is not None]
    current = [_rough_current(t) for t in usable]
    voltage = [(t.voltage or 0.0) + lead * i for t, i in zip(usable, current, strict=True)]
    for place, why in contradictions(voltage, current).items():
        usable[place].why_not = why


class _Register:
    """Names in order of first use, with the uncertainty of each."""

    def __init__(self) -> None:
        self.uncertainty: dict[str, float] = {}

    def place(self, name: str, uncertainty: float) -> int:
        self.uncertainty.setdefault(name, uncertainty)
        return list(self.uncertainty).index(name)

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(self.uncertainty)

    @property
    def sizes(self) -> Floats:
        return np.array(list(self.uncertainty.values()), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class _Row:
    """The numbers of one usable reading."""

    voltage: float
    noise: float
    load: float
    current: float
    current_noise: float
    part: int
    gain: int
    current_gain: int


def _row(one: _Taken, volts: Voltmeter, parts: _Register, gains: _Register) -> _Row:
    rounding = 12.0**-0.5
    noise = float(np.hypot(volts.count * rounding, one.extrapolation))
    if one.kind is ReadingKind.LOAD and one.part is not None:
        part = parts.place(f"part {one.part.name}", one.part.relative_uncertainty)
        gain = gains.place(f"gain {volts.name}", volts.gain)
        return _Row(one.voltage or 0.0, noise, one.part.resistance, 0.0, 0.0, part, gain, -1)
    assert one.meter is not None
    assert one.current is not None
    own = float(np.hypot(one.meter.scatter, one.meter.count * rounding))
    amperes = gains.place(f"gain {one.meter.name}", one.meter.gain)
    if one.kind is ReadingKind.PAIR:
        gain = gains.place(f"gain {volts.name}", volts.gain)
        volts_read = one.voltage or 0.0
        return _Row(
            volts_read, noise, volts_read / one.current, one.current, own, -1, gain, amperes
        )
    burden = one.meter.burden
    part = parts.place(f"burden {one.meter.name}", one.meter.burden_uncertainty / burden)
    return _Row(one.current * burden, own * burden, burden, 0.0, 0.0, part, amperes, -1)


def _arrays(
    run: Run,
    electrode: Electrode | None,
    taken: list[_Taken],
    volts: Voltmeter,
    lead: tuple[float, float, str],
    sensing: Sensing,
    area: Area | None,
    names: _Names,
    movement: Movement,
) -> RunData:
    parts, gains = _Register(), _Register()
    usable = [t for t in taken if not t.why_not]
    rows = [_row(t, volts, parts, gains) for t in usable]

    def column(field: str) -> Floats:
        return np.array([getattr(r, field) for r in rows], dtype=np.float64)

    def places(field: str) -> Whole:
        return np.array([getattr(r, field) for r in rows], dtype=np.int64)

    data = RunData(
        source=run.name,
        electrode=electrode.name if electrode is not None else run.electrode,
        voltage=column("voltage"),
        noise=column("noise"),
        early=np.array([t.early for t in usable], dtype=np.float64),
        expected_scatter=volts.scatter,
        kind=np.array([t.kind for t in usable], dtype=np.int64),
        load=column("load"),
        current=column("current"),
        current_noise=column("current_noise"),
        part=places("part"),
        part_names=parts.names,
        part_uncertainty=parts.sizes,
        gain=places("gain"),
        current_gain=places("current_gain"),
        gain_names=gains.names,
        gain_uncertainty=gains.sizes,
        input_resistance=volts.input_resistance,
        lead_name=names.lead,
        lead_resistance=lead[0],
        lead_uncertainty=lead[1],
        sensing=sensing,
        temperature=tuple(t.reading.temperature or run.temperature.value for t in usable),
        open_circuit_voltage=_open_circuit(run),
        area=area,
        points=(),
        index=np.array([t.index for t in usable], dtype=np.int64),
        assumptions=_assumptions(usable, volts, lead[2], area),
        warnings=(*_warnings(usable), *_early(usable, movement)),
    )
    return _with_points(data, taken, volts)


def _open_circuit(run: Run) -> float | None:
    replaced = {r.replaces for r in run.readings}
    seen = [
        r.voltage
        for k, r in enumerate(run.readings)
        if r.load == "open" and r.voltage is not None and not r.doubt and k not in replaced
    ]
    return seen[-1] if seen else None


def _assumptions(
    usable: list[_Taken], volts: Voltmeter, lead: str, area: Area | None
) -> tuple[str, ...]:
    said: list[str] = [] if area is None or not area.assumed else [area.assumed]
    if volts.assumed and any(t.kind is not ReadingKind.AMMETER for t in usable):
        said.append(
            f"voltmeter not described: 0.5 % + 2 counts of {volts.count * 1e3:g} mV and "
            "10 megohm assumed, as usual for its class"
        )
    meters = {t.meter.name: t.meter for t in usable if t.meter and t.kind is not ReadingKind.LOAD}
    said += [f"{m.name}: 1.2 % + 3 counts assumed" for m in meters.values() if m.assumed]
    said += [
        f"{m.name}: burden {m.burden:.3g} ± {m.burden_uncertainty:.2g} ohm assumed for its range"
        for m in meters.values()
        if m.burden_assumed and any(t.kind is ReadingKind.AMMETER for t in usable)
    ]
    limits = {
        round(t.part.relative_uncertainty * 3.0**0.5, 6)
        for t in usable
        if t.part and t.part.assumed
    }
    said += [f"resistors: {100 * limit:g} % tolerance assumed" for limit in sorted(limits)]
    if lead:
        said.append(lead)
    unsaid = [t for t in usable if t.reading.settling is Settling.NOT_KNOWN and not t.reading.trace]
    if any(not t.early for t in unsaid):
        said.append("readings without a note on settling are taken as settled")
    return tuple(said)


def _early(usable: list[_Taken], movement: Movement) -> list[str]:
    """What was read before anybody saw it stand still, how far it may still move, and how that is known."""
    early = [t for t in usable if t.early >= WORTH_SAYING]
    if not early:
        return []
    count = f"{len(early)} reading{'s were' if len(early) > 1 else ' was'}"
    watched = f"{movement.loads} watched load{'s' if movement.loads > 1 else ''}" if movement.loads else "no load"  # fmt: skip
    basis = f"a judgement, and what {watched} of this run showed" if movement.loads else f"a judgement: {watched} of this run was watched"  # fmt: skip
    most = units.plain(1e3 * max(t.early for t in early), 2)
    return [
        f"{count} taken before two minutes were over, and nobody saw {'them' if len(early) > 1 else 'it'} stand still: "
        f"up to {most} mV may still have come ({basis}), all the same way; every limit counts that"
    ]


def _warnings(usable: list[_Taken]) -> tuple[str, ...]:
    hot: list[str] = []
    by_load: dict[str, list[float]] = {}
    for t in usable:
        if t.kind is not ReadingKind.LOAD or t.part is None or t.voltage is None:
            continue
        by_load.setdefault(t.part.name, []).append(t.voltage)
        heat = t.voltage**2 / t.part.resistance
        if t.part.power_rating is not None and heat > 0.5 * t.part.power_rating:
            hot.append(
                f"{t.part.name} turns {heat:.2g} W into heat, more than half its rating: "
                "it gets hot to the touch and its value drifts"
            )
    steps = {name: max(v) - min(v) for name, v in by_load.items() if len(v) > 1}
    apart = [
        f"readings at {name} differ by {1e3 * step:.0f} mV: not settled, or the cell changes"
        for name, step in steps.items()
        if step > _HYSTERESIS
    ]
    return tuple(dict.fromkeys(hot + apart))


def _with_points(data: RunData, taken: list[_Taken], volts: Voltmeter) -> RunData:
    """The same with every reading listed, used or not."""
    tab, current = data.tab_points()
    place = {int(index): k for k, index in enumerate(data.index)}
    points: list[Point] = []
    for one in taken:
        k = place.get(one.index)
        v = one.voltage if k is None or one.kind is not ReadingKind.AMMETER else float(tab[k])
        i = one.current if k is None else float(current[k])
        points.append(
            Point(
                index=one.index,
                load=one.reading.load
                or ("" if one.part is None else f"{one.part.resistance:g} ohm"),
                load_resistance=None if k is None or data.part[k] < 0 else float(data.load[k]),
                voltage=v,
                voltage_uncertainty=None
                if k is None or v is None
                else _u_voltage(data, k, v, volts),
                current=i,
                current_uncertainty=None
                if k is None or i is None
                else _u_current(data, k, i, volts),
                tab_voltage=None if k is None else float(tab[k]),
                why_not=one.why_not,
                text=one.reading.text,
            )
        )
    return replace(data, points=tuple(points))


def _u_voltage(data: RunData, k: int, voltage: float, volts: Voltmeter) -> float:
    gain = float(data.gain_uncertainty[data.gain[k]])
    own = float(np.hypot(data.noise[k], data.early[k]))
    if data.kind[k] == ReadingKind.AMMETER:
        gain = float(np.hypot(gain, data.part_uncertainty[data.part[k]]))
        return float(np.hypot(gain * voltage, own))
    return float(np.sqrt((gain * voltage) ** 2 + volts.scatter**2 + own**2))


def _u_current(data: RunData, k: int, current: float, volts: Voltmeter) -> float:
    """u(I)/I is the root of the sum of squares of u(V)/V and u(R)/R where I = V/R."""
    if data.kind[k] == ReadingKind.PAIR:
        gain = float(data.gain_uncertainty[data.current_gain[k]])
        return float(np.hypot(gain * current, data.current_noise[k]))
    gain = float(data.gain_uncertainty[data.gain[k]])
    if data.kind[k] == ReadingKind.AMMETER:
        return float(np.hypot(gain * current, data.noise[k] / data.load[k]))
    noise = float(np.hypot(data.noise[k], data.early[k]))
    own = float(np.hypot(volts.scatter, noise)) / float(data.voltage[k])
    part = float(data.part_uncertainty[data.part[k]])
    return current * float(np.sqrt(gain**2 + own**2 + part**2))
