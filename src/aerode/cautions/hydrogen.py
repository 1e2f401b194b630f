"""Hydrogen from cells, capped containers, boxes, and chlorine from brine driven backwards."""

from __future__ import annotations

import math

from aerode import units
from aerode.cautions import lookup
from aerode.cautions.comparing import Band, compare, level_of, per_cent, plain
from aerode.cautions.policy import HOUSE_SOURCE
from aerode.cautions.rooms import flows_of, room_deciders
from aerode.cautions.situation import CellPlan, Situation
from aerode.physics.hydrogen import (
    aluminium_charge,
    corrosion_current,
    dilution_flow,
    hydrogen_volume,
    pressure_rise,
    safety_factor_flow,
    time_to_share_closed,
)
from aerode.records.cautions import Caution, CautionLevel, Finding
from aerode.reference.rows import Status

__all__ = ["gas_current", "hydrogen_cautions"]

_BRINES = {"sodium chloride", "potassium chloride", "sea salt", "sea water"}
_QUARTER_OF_THE_LIMIT = "rule=vapour area"


def gas_current(cell: CellPlan) -> tuple[Band, str, bool] | None:
    """Hydrogen-equivalent current of all cells [A], what it rests on, and whether it was measured.

    Where a sizing takes more to corrode than was measured or is assumed, that is the high end.
    """
    found = _on_its_own(cell)
    if found is None or cell.corrosion_taken is None or cell.aluminium_area is None:
        return found
    band, basis, _ = found
    taken = corrosion_current(cell.corrosion_taken, cell.aluminium_area, cell.cells)
    if taken <= band.high:
        return found
    said = f"as much corrosion as the sizing takes while the load is on (a judgement), more than {basis}"
    return Band(band.low, taken), said, False


def _on_its_own(cell: CellPlan) -> tuple[Band, str, bool] | None:
    """The same without what a sizing takes."""
    if cell.aluminium_area is None:
        return None
    if cell.corrosion is not None:
        ends = [
            corrosion_current(j, cell.aluminium_area, cell.cells)
            for j in (cell.corrosion.low, cell.corrosion.high)
        ]
        return Band(*ends), f"corrosion as measured ({cell.corrosion.how or 'not said how'})", True
    brine = lookup.known_name(cell.salt) in _BRINES
    condition = (
        "aluminium in brine, not measured" if brine else "aluminium in strong alkali, not measured"
    )
    assumed = lookup.rule_span("assumed_corrosion", condition)
    if assumed is None:
        return None
    ends = [corrosion_current(f.value, cell.aluminium_area, cell.cells) for f in assumed]
    low = ends[0] if assumed[0].value < assumed[1].value else 0.0
    return (
        Band(low, ends[1]),
        f"corrosion assumed, {assumed[1].shown} at the high end (from memory)",
        False,
    )


def _flow_needed(current: float, share: float) -> float:
    """Fresh air [m^3/s]: the larger of a quarter of the lower limit and the battery room formula."""
    exact = dilution_flow(current, share)
    charge = lookup.rule("ventilation_figure", "hydrogen per charge, cold")
    dilution = lookup.rule("ventilation_figure", "dilution factor to the lower flammable limit")
    safety = lookup.rule("ventilation_figure", "safety factor")
    if charge is None or dilution is None or safety is None:
        return exact
    rule = safety_factor_flow(
        current, volume_per_charge=charge.value, dilution=dilution.value, safety_factor=safety.value
    )
    return max(exact, rule)


def _missing_area(situation: Situation, cell: CellPlan) -> Caution:
    return Caution(
        key=f"hydrogen.{cell.name}",
        level=CautionLevel.FIRST,
        hazard="hydrogen",
        headline=f"{cell.name}: how much hydrogen it makes cannot be told, as the aluminium area is missing",
        finding=Finding.STRADDLES,
        figure="aluminium area not known",
        source=(lookup.cite_key(HOUSE_SOURCE),),
        do="Enter the wetted aluminium area, length × width of every face in the liquid. Until then: open top, outdoors, nothing capped.",
        missing=("the wetted area of the aluminium",),
        would_change="the aluminium area, a measured corrosion",
        about=situation.about,
    )


_DO = (
    "Never cap it. Opening at the top, fresh air below; no flame, relay or brushed fan above it. The "
    "flame is nearly invisible."
)


def _share_of(need: float, flow: float) -> float:
    """The air that is needed over the air that comes; infinite where none comes."""
    if need <= 0.0 or math.isinf(flow):
        return 0.0
    return need / flow if flow > 0.0 else math.inf


def _duration(seconds: float) -> str:
    """A time for people: minutes below an hour and a half."""
    minutes = seconds / 60.0
    # judgement: where hours read better than minutes
    return f"{plain(minutes)} min" if minutes < 90.0 else f"{plain(minutes / 60.0)} h"


def _hydrogen(situation: Situation, cell: CellPlan) -> Caution:
    gas = gas_current(cell)
    limit = lookup.fire("hydrogen").lower
    share = lookup.rule("flammable_limit_alarm_share", _QUARTER_OF_THE_LIMIT)
    if gas is None or limit is None or share is None:
        return _missing_area(situation, cell)
    current, basis, measured = gas
    flows = flows_of(situation.air)
    target = limit.value * share.value
    need = Band(_flow_needed(current.low, target), _flow_needed(current.high, target))
    ratio = Band(_share_of(need.low, flows.high), _share_of(need.high, flows.low))
    sealed = flows.low == 0.0 and not math.isnan(flows.volume)
    hours = ""
    if sealed and current.high > 0.0:
        time = time_to_share_closed(current.high, target, flows.smallest)
        hours = f"; with no air at all it takes {_duration(time)} to {100 * target:g} %"
        if time > situation.stay:  # a stay ends before an airless room gets there
            ratio = Band(ratio.low, min(ratio.high, situation.stay / time))
    finding = compare(ratio)
    level = level_of(finding, published=measured)
    litres = hydrogen_volume(current.high) * 3600e3  # s in an hour, L in m^3: by definition
    # judgement: when to say mL
    gas_an_hour = f"{plain(litres)} L" if litres >= 0.1 else f"{plain(1e3 * litres)} mL"
    plural = f"{cell.cells} cells" if cell.cells > 1 else "1 cell"
    each = f" ({plain(1e3 * litres / cell.cells)} mL each)" if cell.cells > 1 else ""
    return Caution(
        key=f"hydrogen.{cell.name}",
        level=level,
        hazard="hydrogen",
        headline=f"{plural}: up to {gas_an_hour} of hydrogen an hour, wants {plain(need.high * 3600)} m³/h of air to stay below {100 * target:g} %",
        finding=finding,
        figure=f"{gas_an_hour} an hour{each}; {per_cent(ratio)} of the fresh air at hand{hours}",
        limit=f"{100 * target:g} % by volume, {units.per_cent(share.value)} of {limit.shown}",
        basis=f"{basis}; battery room formula and exact dilution, the larger; room: {flows.how}",
        source=(limit.source, lookup.cite_key("en_50272"), lookup.cite_key("h2tools")),
        unverified=not measured,
        do=_DO,
        missing=()
        if finding is not Finding.STRADDLES
        else (
            *room_deciders(situation.air),
            *(() if measured else ("a mass loss or a gas volume of this aluminium",)),
        ),
        would_change="a measured mass loss or gas volume",
        about=situation.about,
    )


def _box(situation: Situation, cell: CellPlan) -> Caution | None:
    """Cells that stand in a box: how soon it holds a quarter of the lower limit without an opening."""
    gas, limit = gas_current(cell), lookup.fire("hydrogen").lower
    share = lookup.rule("flammable_limit_alarm_share", _QUARTER_OF_THE_LIMIT)
    opening = lookup.rule("ventilation_figure", "opening per flow")
    if cell.enclosure is None or gas is None or limit is None or share is None or gas[0].high <= 0:
        return None
    target = limit.value * share.value
    time = time_to_share_closed(gas[0].high, target, cell.enclosure)
    need = _flow_needed(gas[0].high, target)
    holes = f"{plain(opening.value * need * 1e4)} cm² " if opening is not None else ""
    return Caution(
        key=f"hydrogen.box.{cell.name}",
        level=CautionLevel.FIRST,
        hazard="hydrogen in the box",
        headline=f"{cell.name}: a box of {cell.enclosure * 1e3:.3g} L fills to {100 * target:g} % in "
        f"{_duration(time)}",
        finding=Finding.STRADDLES,
        figure=f"{_duration(time)} without an opening",
        limit=f"{100 * target:g} % by volume",
        basis=f"{gas[1]}; nothing leaves but what is pushed out",
        source=(limit.source, lookup.cite_key("en_50272")),
        unverified=not gas[2],
        do=f"First an opening of {holes}at the top and one at the bottom. " + _DO,
        missing=("the openings of the box",),
        would_change="openings, a measured mass loss or gas volume",
        about=situation.about,
    )


def _capped(situation: Situation, cell: CellPlan) -> Caution | None:
    if not cell.capped:
        return None
    # judgement: a room of 25 degC
    temperature = situation.air.temperature if situation.air else 298.15
    rise = ""
    missing: list[str] = []
    if cell.aluminium_mass is None:
        missing.append("the mass of the aluminium")
    if cell.headspace is None:
        missing.append("the gas space")
    if cell.aluminium_mass is not None and cell.headspace is not None:
        pressure = pressure_rise(aluminium_charge(cell.aluminium_mass), cell.headspace, temperature)
        rise = f"+{pressure / 1e3:.3g} kPa"
    said = f" {rise} if all its aluminium corrodes" if rise else " it bursts"
    return Caution(
        key=f"hydrogen.capped.{cell.name}",
        level=CautionLevel.STOP,
        hazard="closed container",
        headline=f"{cell.name} is capped:{said}",
        finding=Finding.ABOVE if rise else Finding.NO_FIGURE,
        figure=rise or "no figure",
        limit="0 kPa: no container of a bench is made to hold it",
        basis="3/2 mol of hydrogen for each mole of aluminium, ideal gas, nothing escapes",
        source=(lookup.cite_key("codata_2018"),),
        do="Take the cap off. Cells, waste jars and sludge stand under a loose lid with a hole.",
        missing=tuple(missing),
        would_change="a vent",
        about=situation.about,
    )


def _chlorine(situation: Situation, cell: CellPlan) -> Caution | None:
    if lookup.known_name(cell.salt) not in _BRINES or not (cell.charger or cell.in_series > 1):
        return None
    row = lookup.remark("sodium chloride", "cell driven backwards")
    if row is None:
        return None
    return Caution(
        key=f"hydrogen.chlorine.{cell.name}",
        level=CautionLevel.STOP if cell.charger else CautionLevel.NOTE,
        hazard="chlorine",
        headline=f"{cell.name}: {row.note}",
        basis="a supply drives it backwards" if cell.charger
        else "in a string the weakest cell can be driven backwards by the others",
        source=(lookup.cite(row),),
        unverified=row.status is Status.UNVERIFIED,
        do="Do not charge it: this cell takes a new plate, not a charger." if cell.charger
        else "Read each cell by itself. Take one that falls below zero out at once. "
        "At a smell of pool water: disconnect, leave, air.",
        would_change="a diode across each cell, no charger",
        about=situation.about,
    )  # fmt: skip


def hydrogen_cautions(situation: Situation) -> list[Caution]:
    """Every caution on hydrogen and chlorine, cell by cell.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty where there is no cell.
    """
    found: list[Caution | None] = []
    for cell in situation.cells:
        found += [
            _hydrogen(situation, cell),
            _box(situation, cell),
            _capped(situation, cell),
            _chlorine(situation, cell),
        ]
    return [c for c in found if c is not None]
