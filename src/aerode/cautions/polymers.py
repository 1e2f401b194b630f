"""Polymers and waxes under heat: softening, warning, stop; unknown plastic is not heated."""

from __future__ import annotations

from aerode.cautions import lookup
from aerode.cautions.policy import HOUSE_SOURCE
from aerode.cautions.situation import Heating, Polymer, Situation
from aerode.physics.heat_gates import HeatStep, heat_step
from aerode.physics.water import ZERO_CELSIUS
from aerode.records.cautions import Caution, CautionLevel, Finding
from aerode.reference.hazards import figure_end, heat_gates
from aerode.reference.rows import PublishedRow, Status

__all__ = ["lowest_line", "polymer_cautions"]

_ACRYLONITRILE_SOLID = "acrylonitrile-bearing solid leaves the exemption of 1910.1045"
_NO_FIGURE = "polymer or wax without a figure on file"


def _celsius(kelvin: float) -> str:
    return f"{kelvin - ZERO_CELSIUS:.0f} °C"


def _kelvin(row: PublishedRow, *, lowest: bool = True) -> float:
    return figure_end(row, lowest=lowest) + ZERO_CELSIUS


def _published(row: PublishedRow | None) -> float | None:
    return None if row is None or row.status is Status.UNVERIFIED else _kelvin(row)


def _unknown(situation: Situation, heating: Heating, name: str) -> Caution:
    return Caution(
        key=f"heat.polymer.{name or 'unknown'}",
        level=CautionLevel.STOP,
        hazard="polymer heat",
        headline=f"{name or 'a plastic'} of unknown kind: no heat",
        finding=Finding.NO_FIGURE,
        figure=_celsius(heating.plate_temperature) if heating.plate_temperature else "hot",
        limit="none on file",
        basis="scrap plastic may be PVC or carry bromine; nothing tells at what heat it turns poisonous",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="Do not heat it. Press it cold, or use a polymer whose name is known.",
        missing=("what the plastic is",),
        would_change="its name, and the heat figures of its data sheet",
        about=situation.about,
    )


def _rungs(
    name: str, polymer: Polymer
) -> tuple[float | None, float | None, float | None, tuple[str, ...]]:
    """Softening, published warn and published stop [K], and sources; a data sheet stands first."""
    gates = heat_gates(name)
    # judgement: a room of 25 degC
    softening = min((_kelvin(r) for r in gates.softening if _kelvin(r) > 298.15), default=None)
    warn, stop = _published(gates.warn), _published(gates.stop)
    seen = [r for r in gates.off_gas if r.status is not Status.UNVERIFIED]
    if stop is None and seen:  # no published gate: the coolest published off-gas line is the stop
        stop = _kelvin(seen[0])
    if stop is None and warn is not None:
        stop = warn
    sources = [
        lookup.cite(r) for r in (gates.stop, gates.warn, *gates.off_gas[:1]) if r is not None
    ]
    if polymer.sheet_limit is not None:
        stop = polymer.sheet_limit if stop is None else min(stop, polymer.sheet_limit)
        sources.insert(0, f"data sheet entered by hand: {polymer.sheet or 'not named'}")
    return softening, warn, stop, tuple(dict.fromkeys(sources))


def _memory_line(name: str) -> float | None:
    """The lowest warning or stop line that is only from memory [K]; it can warn, never stop."""
    gates = heat_gates(name)
    rows = [r for r in (gates.warn, gates.stop) if r and r.status is Status.UNVERIFIED]
    return min((_kelvin(r) for r in rows), default=None)


def _off_gas(name: str) -> str:
    rows = heat_gates(name).off_gas
    if not rows:
        return ""
    gas = rows[0].condition.removeprefix("gas=")
    mark = " (from memory)" if rows[0].status is Status.UNVERIFIED else ""
    return f"{gas} from {_celsius(_kelvin(rows[0]))}{mark}"


def _without_figure(situation: Situation, heating: Heating, name: str, plate: float) -> Caution:
    """No published line: the house rule stands. A heating that is done and kept to it is noted only."""
    ceiling = lookup.rule("heat_stop_temperature", _NO_FIGURE)
    over = ceiling is None or plate > ceiling.value
    memory = _memory_line(name)
    said = f"; {_celsius(memory)} from memory only" if memory is not None else ""
    kept_to = heating.done and not over and (memory is None or plate < memory)
    ahead = CautionLevel.NOTE if kept_to else CautionLevel.FIRST
    return Caution(
        key=f"heat.polymer.{name}",
        level=CautionLevel.STOP if over else ahead,
        hazard="polymer heat",
        headline=f"{name}: no published heat line on file{said}",
        finding=Finding.NO_FIGURE,
        figure=_celsius(plate),
        limit=f"house rule: not above {ceiling.shown} without one" if ceiling else "none on file",
        basis="unknown is never a pass; " + (_off_gas(name) or "when it gives off gas is not on file"),
        source=(lookup.cite_key(HOUSE_SOURCE),),
        unverified=memory is not None,
        do=f"Not above {ceiling.shown} before the heat limit of its data sheet is entered." if not over and ceiling
        else "Do not heat it that far until the limit of its data sheet is entered.",
        missing=(f"the heat limit of {name} from its data sheet",),
        would_change="the data sheet of the polymer, cooler plates",
        about=situation.about,
    )  # fmt: skip


_ACT = {
    HeatStep.STOP: "Do not go there. Cooler plates, or another polymer. Delayed cough, shivers or fever "
    "after hot plastic: see a doctor and say which one. A dust mask does nothing for these gases.",
    HeatStep.WARN: "First an extraction to the outside and nobody leaning over it; or cooler plates.",
    HeatStep.SOFT: "Measure the plate itself, not the dial. Stop at the first smoke or smell.",
    HeatStep.COOL: "Measure the plate itself, not the dial. Stop at the first smoke or smell.",
}


def _ladder(
    situation: Situation, heating: Heating, polymer: Polymer, name: str, plate: float
) -> Caution:
    softening, warn, stop, sources = _rungs(name, polymer)
    step = heat_step(plate, softening=softening, warn=warn, stop=stop)
    if step is HeatStep.NO_FIGURE or stop is None:
        return _without_figure(situation, heating, name, plate)
    memory = _memory_line(name)
    tightened = memory is not None and plate >= memory and step in {HeatStep.SOFT, HeatStep.COOL}
    solid = (
        lookup.rule("regulated_heating_temperature", _ACRYLONITRILE_SOLID)
        if name == "ABS"
        else None
    )
    sheltered = solid is not None and plate > solid.value
    if step is HeatStep.STOP:
        level = CautionLevel.FIRST if heating.extraction else CautionLevel.STOP
    else:
        first = step is HeatStep.WARN or tightened or sheltered
        level = CautionLevel.FIRST if first else CautionLevel.NOTE
    rungs = [f"softens from {_celsius(softening)}"] if softening else []
    rungs += [f"warn {_celsius(warn)}"] if warn else []
    rungs.append(f"stop {_celsius(stop)}")
    extra = f"; above {solid.shown} its acrylonitrile is regulated" if sheltered and solid else ""
    cited = (solid.source,) if sheltered and solid else ()
    return Caution(
        key=f"heat.polymer.{name}",
        level=level,
        hazard="polymer heat",
        headline=f"{name} at {_celsius(plate)}: {step.value}"
        + (f"; {gas}" if (gas := _off_gas(name)) else ""),
        finding=Finding.ABOVE if step in {HeatStep.STOP, HeatStep.WARN} else Finding.BELOW,
        figure=_celsius(plate),
        limit=", ".join(rungs) + extra,
        basis="published for the neat polymer; carbon, oxides and metal in the layer lower these lines",
        source=(*sources, *cited) or (lookup.cite_key(HOUSE_SOURCE),),
        unverified=tightened,
        do=_ACT[step],
        would_change="the plate temperature"
        + (", an extraction to the outside" if step is HeatStep.STOP else ""),
        about=situation.about,
    )


def lowest_line(situation: Situation) -> tuple[str, float] | None:
    """The polymer that asks for the coolest plates, and its line [K]; a house rule where none is on file.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    tuple or None
        None where nothing of known kind is in the layer.
    """
    ceiling = lookup.rule("heat_stop_temperature", _NO_FIGURE)
    found: list[tuple[float, str]] = []
    for polymer in situation.polymers:
        name = lookup.known_name(polymer.substance)
        if name is None:
            continue
        stop = _rungs(name, polymer)[2]
        if stop is None and ceiling is not None:
            stop = ceiling.value
        if stop is not None:
            found.append((stop, name))
    return (min(found)[1], min(found)[0]) if found else None


def polymer_cautions(situation: Situation, heating: Heating) -> list[Caution]:
    """One caution for each polymer or wax that a heating reaches.

    Parameters
    ----------
    situation : Situation
        What is about to be done.
    heating : Heating
        The heating, hotter than the room.

    Returns
    -------
    list of Caution
        A polymer that is not known, or a recipe that is not known, is a STOP.
    """
    found: list[Caution] = []
    if not situation.recipe_known:
        found.append(_unknown(situation, heating, ""))
    for polymer in situation.polymers:
        name = lookup.known_name(polymer.substance)
        if name is None:
            found.append(_unknown(situation, heating, polymer.name))
        elif heating.plate_temperature is not None:
            found.append(_ladder(situation, heating, polymer, name, heating.plate_temperature))
    return found
