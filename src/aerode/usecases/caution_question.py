"""What is typed beside the records of a bench about a danger, read into what the rules look at."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.cautions.measured_corrosion import corrosion_by_gas, corrosion_by_mass
from aerode.cautions.sheets import sheet_key
from aerode.cautions.situation import Heating, SheetFigures, Span, Weighings, WeighLoss
from aerode.errors import InputError, RangeError, UnitError
from aerode.records.marks import Entry
from aerode.records.mixes import Ingredient, Portion

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.cautions.situation import CellPlan, Polymer
    from aerode.records.doses import DoseSheet

__all__ = [
    "CautionQuestion",
    "question_of_dose",
    "read_or_none",
    "target_of",
    "typed_cell",
    "typed_heating",
    "typed_sheets",
    "typed_weigh_loss",
    "with_sheets",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionQuestion:
    """What is said beside the records, as typed; "" where it was not said.

    A weigh-loss reads "1.2 g in 10 min"; two weighings read "12.43 g, 12.42 g, 15 min".
    """

    room: str = ""
    area: str = ""
    weigh_loss: str = ""
    plate: str = ""
    appliance: str = ""
    closed_volume: str = ""
    retained: str = ""
    weighed_twice: str = ""
    coating: str = ""
    scale: str = "0.01 g"
    series: int = 1
    strings: int = 1
    capped: bool = False
    headspace: str = ""
    box: str = ""
    fused: bool = False
    charger: bool = False
    corroded: str = ""
    """Aluminium lost or gas caught at rest, as in "34 mg in 24 h" or "12 mL in 2 h"."""
    open_circuit: str = ""
    """Open-circuit voltage of one cell, as in "1.62 V ± 0.02 V"."""
    class_mode: bool = False
    target: str = ""
    """Share of a limit that the advice on airing aims at, as in "25 %"; a half if left out."""
    sheets: tuple[str, ...] = ()
    """Limits read in data sheets, as in "PVB=150 °C, maker's sheet 2024" (heat), "thinner=50 ppm, sheet
    2024" (a day), "thinner=flash 12 °C, sheet 2024"."""
    portions: tuple[Portion, ...] = ()
    """What will be weighed, where the mix itself has no amounts (a dose sheet)."""


def question_of_dose(dose: DoseSheet, question: CautionQuestion) -> CautionQuestion:
    """The same question of what a dose sheet weighs out, over the wet area of all its pieces.

    Whoever shows a dose sheet asks this one, so that a page and its print state one amount.

    Parameters
    ----------
    dose : DoseSheet
    question : CautionQuestion
        What else is said: room, plate, data sheets, class.

    Returns
    -------
    CautionQuestion
    """
    weighed = tuple(
        Portion(of=line.of, shelf=Ingredient(line.shelf), mass=Entry(value=line.amount_g * 1e-3))
        for line in dose.lines
        if line.amount_g > 0
    )
    area = f"{dose.area_cm2 * dose.electrodes:.6g} cm^2"
    return replace(question, area=question.area or area, portions=weighed)


def read_or_none(text: str, unit: str, field: str) -> float | None:
    """A typed number in SI, None where nothing was typed."""
    return units.read(text, unit, field=field).value if text.strip() else None


def typed_weigh_loss(question: CautionQuestion) -> WeighLoss | None:
    """What a scale saw evaporate, None where nothing was typed."""
    if not question.weigh_loss.strip():
        return None
    parts = re.split(r"\s+in\s+|\s*/\s*", question.weigh_loss.strip(), maxsplit=1)
    if len(parts) != 2:
        raise UnitError(
            f"{question.weigh_loss!r} is no weigh-loss", where="weigh-loss",
            allowed='a mass and a time, as in "1.2 g in 10 min"',
            next_step="weigh the wet piece twice and type the loss and the time between",
        )  # fmt: skip
    lost = units.read(parts[0], "kg", field="weigh-loss").value
    over = units.read(parts[1], "s", field="weigh-loss").value
    return WeighLoss(
        lost=lost, over=over, resolution=read_or_none(question.scale, "kg", "scale") or 0.0
    )


def _weighings(question: CautionQuestion, kept: Weighings | None) -> Weighings | None:
    """Two weighings as typed; coating and area from the record where they were not typed."""
    if not question.weighed_twice.strip():
        return None
    parts = [p for p in re.split(r"\s*[,;]\s+", question.weighed_twice.strip()) if p]
    if len(parts) != 3:
        raise UnitError(
            f"{question.weighed_twice!r} is not two weighings and a time", where="weighed twice",
            allowed='two masses and the time between, as in "12.43 g, 12.42 g, 15 min"',
            next_step="weigh the dry-looking piece, wait ten minutes, weigh it again",
        )  # fmt: skip
    first, second = (units.read(p, "kg", field="weighed twice").value for p in parts[:2])
    coating = read_or_none(question.coating, "kg", "coating")
    area = read_or_none(question.area, "m^2", "area")
    return Weighings(
        first=first,
        second=second,
        interval=units.read(parts[2], "s", field="weighed twice").value,
        coating=coating if coating is not None or kept is None else kept.coating,
        area=area if area is not None or kept is None else kept.area,
        resolution=read_or_none(question.scale, "kg", "scale") or 0.0,
    )


def typed_heating(heating: Heating, question: CautionQuestion) -> Heating:
    """The heating with what was typed about it; what was not typed stays as its record says."""
    plate = read_or_none(question.plate, "K", "plate")
    closed = read_or_none(question.closed_volume, "m^3", "closed volume")
    retained = read_or_none(question.retained, "kg", "retained solvent")
    asked = (
        question.plate,
        question.appliance,
        question.closed_volume,
        question.retained,
        question.weighed_twice,
    )
    return replace(
        heating,
        done=heating.done and not any(text.strip() for text in asked),
        plate_temperature=plate if plate is not None else heating.plate_temperature,
        cold=heating.cold and plate is None and not question.appliance,
        appliance=question.appliance or heating.appliance,
        closed_volume=closed if closed is not None else heating.closed_volume,
        retained_solvent=retained if retained is not None else heating.retained_solvent,
        weighings=_weighings(question, heating.weighings) or heating.weighings,
    )


def typed_cell(plan: CellPlan, question: CautionQuestion) -> CellPlan:
    """The cell with what was typed about it and its string."""
    return replace(
        plan,
        in_series=question.series,
        strings=question.strings,
        corrosion=_corrosion(question, plan.aluminium_area) or plan.corrosion,
        open_circuit_voltage=_open_circuit(question),
        capped=question.capped,
        headspace=read_or_none(question.headspace, "m^3", "headspace"),
        enclosure=read_or_none(question.box, "m^3", "box"),
        fused=question.fused,
        charger=question.charger,
    )


def _open_circuit(question: CautionQuestion) -> Span | None:
    if not question.open_circuit.strip():
        return None
    typed = units.read(question.open_circuit, "V", field="open circuit")
    spread = 2 * (typed.standard_uncertainty or 0.0)
    return Span(low=max(0.0, typed.value - spread), high=typed.value + spread, how="measured")


def _corrosion(question: CautionQuestion, area: float | None) -> Span | None:
    if not question.corroded.strip():
        return None
    amount, _, time = question.corroded.partition(" in ")
    unit = units.read_number(amount)[1] if amount.strip() else ""
    if not time.strip() or not unit:
        raise UnitError(
            f"{question.corroded!r} is no corrosion", where="corroded",
            allowed='aluminium lost or gas caught, and a time, as in "34 mg in 24 h" or "12 mL in 2 h"',
            next_step="type both with their units",
        )  # fmt: skip
    if area is None:
        raise InputError(
            "a corrosion needs the wetted area of the aluminium", where="corroded",
            allowed="a cell whose aluminium area is on the bench",
            next_step="enter the aluminium area of the cell first",
        )  # fmt: skip
    over = units.read(time, "s", field="corroded").value
    if units.same_kind(unit, "m^3"):
        return corrosion_by_gas(units.read(amount, "m^3", field="corroded").value, over, area)
    step = read_or_none(question.scale, "kg", "scale") or 0.0
    return corrosion_by_mass(units.read(amount, "kg", field="corroded").value, over, area, step)


_FLASH = re.compile(r"^flash(?:\s+point)?\s+(?P<value>.+)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class _Typed:
    """One typed line of a data sheet: whose, what kind of figure, its value in SI, which sheet."""

    of: str
    kind: str
    value: float
    sheet: str


def _line(text: str) -> _Typed:
    name, mark, rest = text.partition("=")
    limit, _, sheet = rest.partition(",")
    limit = limit.strip()
    if not mark or not limit:
        raise UnitError(
            f"{text!r} is no line of a data sheet", where="sheet",
            allowed='a name, a figure and the sheet, as in "PVB=150 °C, maker\'s sheet 2024", '
            '"thinner=50 ppm, maker\'s sheet 2024" or "thinner=flash 12 °C, maker\'s sheet 2024"',
            next_step="type all three; the sheet is what the figure rests on",
        )  # fmt: skip
    flash = _FLASH.match(limit)
    unit = units.read_number(flash["value"] if flash else limit)[1]
    if flash:
        kind, si, limit = "flash", "K", flash["value"]
    elif unit and units.same_kind(unit, "kg/m^3"):
        kind, si = "day", "kg/m^3"
    elif unit and units.same_kind(unit, ""):
        kind, si = "day by volume", ""
    else:
        kind, si = "heat", "K"
    return _Typed(name.strip(), kind, units.read(limit, si, field="sheet").value, sheet.strip())


def typed_sheets(question: CautionQuestion) -> tuple[SheetFigures, ...]:
    """Flash points and limits of a day out of data sheets, as typed."""
    found: list[SheetFigures] = []
    for line in (_line(text) for text in question.sheets):
        if line.kind == "heat":
            continue
        found.append(
            SheetFigures(
                of=line.of,
                said=f"data sheet entered by hand: {line.sheet or 'not named'}",
                named=bool(line.sheet),
                flash=line.value if line.kind == "flash" else None,
                day=line.value if line.kind == "day" else None,
                day_by_volume=line.value if line.kind == "day by volume" else None,
            )
        )
    return tuple(found)


def with_sheets(polymers: Sequence[Polymer], question: CautionQuestion) -> tuple[Polymer, ...]:
    """The polymers, each with the heat limit of its data sheet where one was typed."""
    lines = [line for line in map(_line, question.sheets) if line.kind == "heat"]
    said = {sheet_key(line.of): line for line in lines}
    kept: list[Polymer] = []
    for polymer in polymers:
        line = said.get(sheet_key(polymer.substance)) or said.get(sheet_key(polymer.name))
        kept.append(
            polymer if line is None else replace(polymer, sheet_limit=line.value, sheet=line.sheet)
        )
    return tuple(kept)


def target_of(question: CautionQuestion, otherwise: float) -> float:
    """Share of a limit to air down to, as typed or `otherwise`."""
    said = read_or_none(question.target, "", "target")
    if said is None:
        return otherwise
    if not 0.0 < said <= 1.0:
        raise RangeError(
            f"a target of {question.target!r}", where="target", allowed='above 0 to 100 %, as in "25 %"',
            next_step="type a share of the limit",
        )  # fmt: skip
    return said
