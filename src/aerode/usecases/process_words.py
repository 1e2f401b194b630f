"""The figures of a process as words: what each part of the answer says, by its label."""

from __future__ import annotations

from dataclasses import replace
from math import degrees
from typing import TYPE_CHECKING, TypeAlias

from aerode import units
from aerode.usecases.press_start import beside_start, usual_start
from aerode.usecases.process import shown_time
from aerode.usecases.source_words import named_source

if TYPE_CHECKING:
    from aerode.records.processes import Band, ProcessAnswer

__all__ = ["process_facts"]

Fact: TypeAlias = tuple[str, str]
"""A label, and what stands behind it."""


def process_facts(answer: ProcessAnswer, *, named: bool = False) -> tuple[Fact, ...]:
    """Every figure of an answer of `process`, in words and rounded; only the parts that it has.

    Parameters
    ----------
    answer : ProcessAnswer
    named : bool
        Sources by who said it and when, in place of the keys of the tables.

    Returns
    -------
    tuple of (str, str)
        Label and text: ("Liquid", "1.1 g on 36 cm^2: 9 min to 40 min ...").
    """
    if named:
        window = tuple(replace(w, line_source=named_source(w.line_source)) for w in answer.window)
        answer = replace(answer, window=window)
    parts = (_drying, _dryness, _pressing, _wetting, _electrolyte)
    return tuple(fact for part in parts for fact in part(answer))


def _fact(label: str, text: str) -> list[Fact]:
    return [(label, text)]


def _sig(value: float, digits: int = 2) -> str:
    """So many significant digits, without an exponent."""
    return units.write(value, "", digits=digits)


def _span(low: float, high: float, unit: str, digits: int = 2) -> str:
    one, two = _sig(low, digits), _sig(high, digits)
    return f"{one} {unit}" if one == two else f"{one} to {two} {unit}"


def _time(band: Band) -> str:
    low = "not known" if band.low is None else shown_time(band.low)
    high = "not known" if band.high is None else shown_time(band.high)
    likely = f", likely about {shown_time(band.likely)}" if band.likely is not None else ""
    return f"{low} to {high}{likely}" if low != high else f"{low}{likely}"


def _drying(answer: ProcessAnswer) -> list[Fact]:
    found = answer.drying
    if found is None:
        return []
    how = "by the weigh-loss" if found.measured_rate else "between published models"
    grams = f"{_sig(1e3 * found.liquid_mass)} g on {_sig(1e4 * found.area, 3)} cm^2"
    text = _fact("Liquid", f"{grams}: {_time(found.free)} ({how})")
    if len(found.liquids) > 1:
        shares = "; ".join(
            f"{one.of} {units.per_cent(one.at_start)}, near the end {units.per_cent(one.near_the_end or 0.0)}"
            for one in found.liquids
        )
        text += _fact("Blend", f"{shares} (ideal mixture)")
    text += _fact("Last", f"{_time(found.last)}, out of the binder to 1 %")
    if found.coldest is not None:
        text += _fact("Cools", f"to {found.coldest - 273.15:.0f} degC at the coldest")
    cracks = found.cracks
    if cracks is not None and cracks.dry_over_wet is not None:
        text += _fact("Sinks", f"to {units.per_cent(cracks.dry_over_wet)} of its wet thickness")
    if cracks is not None and cracks.thickness is not None:
        low, high = cracks.thickness.low or 0.0, cracks.thickness.high or 0.0
        span = _span(1e6 * low, 1e6 * high, "um")
        grain = _sig(1e6 * (cracks.grain_diameter or 0.0))
        text += _fact("Cracks", f"bare grains of {grain} um above {span} dry; binder helps")
    return text


def _dryness(answer: ProcessAnswer) -> list[Fact]:
    found = answer.dryness
    if found is None:
        return []
    text = _fact("Rule", found.rule)
    if found.decides:
        text += _fact("Decides", found.decides)
    if found.still_to_go is not None:
        text += _fact(
            "To go", f"about {_sig(1e6 * found.still_to_go)} mg more, or a little above that"
        )
    if found.constant_in is not None and found.constant_in > 0.0:
        text += _fact("When", f"not before {shown_time(found.constant_in)}; weigh again then")
    return text


def _pressure(low: float, high: float) -> str:
    return (
        _span(low / 1e6, high / 1e6, "MPa") if high >= 3e5 else _span(low / 1e3, high / 1e3, "kPa")
    )


def _pressing(answer: ProcessAnswer) -> list[Fact]:
    text: list[Fact] = []
    load = answer.load
    if load is not None:
        force, mean, spread = load.force, load.pressure.likely or 0.0, load.spread
        newton = _span(force.low or 0.0, force.high or 0.0, "N in all")
        psi = _sig(mean / 6894.757)
        text += _fact(
            "Press",
            f"{newton} ({load.how}) on {_sig(1e4 * (load.area or 0.0), 3)} cm^2: likely {_pressure(mean, mean)} "
            f"({psi} psi); a spot may get {_pressure(spread.low or 0.0, spread.high or 0.0)}",
        )
        where = beside_start(load.pressure.low or mean, load.pressure.high or mean)
        text += _fact("Usual", f"warm, {usual_start(load.area)}; {where}")
    elif answer.process == "pressing":
        text += _fact("Usual", f"warm, {usual_start()}")
    heat = answer.heat
    if heat is not None:
        said = f"95 % of the way to {heat.plate - 273.15:.0f} degC ({heat.plate * 1.8 - 459.67:.0f} F) in {_time(heat.follows_in)}"
        if heat.coldest is not None and heat.after is not None:
            low, high = ((t or 0.0) - 273.15 for t in (heat.coldest.low, heat.coldest.high))
            said += f"; {_span(low, high, 'degC')} after {_sig(heat.after / 60.0)} min"
        text += _fact("Film", said)
    for one in answer.window:
        softens = (
            "softening not on file"
            if one.softens is None
            else f"softens by {one.softens - 273.15:.0f} degC"
        )
        line = "no line on file" if one.line is None else f"not above {one.line - 273.15:.0f} degC"
        why = one.note.split("; ")[-1] if one.status == "unverified" else one.line_source
        text += _fact(one.polymer, f"{softens}, {line} ({why})")
    return text


def _wetting(answer: ProcessAnswer) -> list[Fact]:
    found = answer.wetting
    if found is None:
        return []
    angles = _span(degrees(found.angle.low or 0.0), degrees(found.angle.high or 0.0), "degrees", 3)
    text = _fact("Angle", f"{angles}; above 90 it turns water away")
    holds = _pressure(found.pressure.low or 0.0, found.pressure.high or 0.0)
    text += _fact("Holds", f"{holds}, at {_sig(1e3 * found.surface_tension, 3)} mN/m")
    needed = found.covering_needed
    if needed is None:
        text += _fact(
            "Cover", "this covering does not turn water away by itself, or the base needs none"
        )
    else:
        ends = f"{units.per_cent(needed.low or 0.0)} to {units.per_cent(needed.high or 0.0)}"
        text += _fact("Cover", f"more than {ends} of the surface, before any pore holds")
    return text


def _electrolyte(answer: ProcessAnswer) -> list[Fact]:
    found = answer.electrolyte
    if found is None:
        return []
    said = [f"{_sig(100 * found.mass_fraction, 3)} % by mass"]
    if found.practical_salinity is None:
        said += [f"{_sig(found.molality, 3)} mol/kg", f"{_sig(found.molarity / 1e3, 3)} mol/L"]
    else:
        said.append(f"practical salinity {_sig(found.practical_salinity, 3)}")
    said.append(f"{_sig(found.grams_per_100_ml_water, 3)} g in 100 mL of water")
    text = _fact("Strength", ", ".join(said))
    text += _fact(
        "Density",
        f"{1e-3 * found.density:.4f} g/cm^3 at {_sig(found.temperature - 273.15, 3)} degC",
    )
    if found.conductivity is not None:
        shown = units.write(found.conductivity, "S/m", found.conductivity_uncertainty, to="mS/cm")
        text += _fact("Conducts", shown)
    return text
