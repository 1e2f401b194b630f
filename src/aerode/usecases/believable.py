"""What cannot be true of a record that is being entered; what is stored already stays readable."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from aerode.cautions.large import MOST
from aerode.errors import FieldFault, RangeError
from aerode.records.electrodes import Electrode
from aerode.records.marks import Known
from aerode.records.materials import Solution
from aerode.records.mixes import Batch, Mix
from aerode.records.runs import Run

if TYPE_CHECKING:
    from aerode.records.electrodes import Press
    from aerode.records.materials import Dish
    from aerode.records.mixes import Portion

__all__ = [
    "KILNS",
    "THICKEST",
    "impossible_in",
    "newly_impossible",
    "press_faults",
    "refuse_temperature",
]

COLDEST = 273.15 - 30.0  # judgement
"""[K]; strong brine and lye are still liquid there, and nobody measures a cell below it."""
HOTTEST = 273.15 + 110.0  # judgement
"""[K]; saturated brine boils at about 109 °C (from memory), and a cell is open to the air."""
HOTTEST_PLATE = 273.15 + 450.0  # judgement
"""[K]; no household press, iron or oven gets there, and no polymer of an electrode bears it."""
KILNS = ("kiln", "furnace", "muffle", "torch", "forge", "burner")
"""Words in “with what” that say that such heat is meant."""
THICKEST = 0.02  # judgement
"""[m]; of a hand-made electrode."""


def refuse_temperature(kelvin: float, where: str = "temperature") -> None:
    """Refuse a temperature that no electrolyte of an open cell has.

    Parameters
    ----------
    kelvin : float [K]
        Of the electrolyte.
    where : str
        The name of the field.

    Raises
    ------
    RangeError
        Outside -30 to 110 °C.

    Examples
    --------
    >>> refuse_temperature(294.15)
    """
    # a hair of room, so that the bounds as typed (110 °C, -30 °C) are inside
    if not COLDEST - 1e-6 <= kelvin <= HOTTEST + 1e-6:
        raise RangeError(
            f"{kelvin - 273.15:.4g} °C is no temperature of an electrolyte in an open cell",
            where=where,
            allowed="-30 to 110 °C",
            next_step="look at the decimal mark and the unit, as in 21 °C",
        )


def impossible_in(record: object) -> list[FieldFault]:
    """What in a record cannot be true, each with the path of its field.

    Parameters
    ----------
    record : Solution, Electrode, Run, Mix, Batch or any other
        Of others nothing is told.

    Returns
    -------
    list of FieldFault
        Empty where all of it can be.

    Examples
    --------
    >>> from aerode.records.materials import Dish
    >>> heavy = Solution(name="S", polymer="PVB", dishes=(Dish(empty=2e-3, wet=4e-3, dried=5e-3),))
    >>> [fault.field for fault in impossible_in(heavy)]
    ['dishes.0.dried']
    """
    match record:
        case Solution():
            return [f for place, dish in enumerate(record.dishes) for f in _of_dish(dish, place)]
        case Electrode():
            return [*_of_masses(record), *_of_thickness(record), *_of_presses(record)]
        case Run():
            return _of_run(record)
        case Mix() | Batch():
            return _of_portions(record.portions)
        case _:
            return []


def newly_impossible(record: object, before: object = None) -> list[FieldFault]:
    """What cannot be true in a record and did not stand so already in the state before it.

    A slip of long ago does not keep anybody from changing another field.
    """
    old = impossible_in(before)
    return [fault for fault in impossible_in(record) if fault not in old]


def _grams(kilograms: float) -> str:
    return f"{1e3 * kilograms:.6g} g"


def _of_dish(dish: Dish, place: int) -> list[FieldFault]:
    row, stem = f"dish {place + 1}", f"dishes.{place}"
    empty, wet, dried = _grams(dish.empty), _grams(dish.wet), _grams(dish.dried)
    between = f"between {empty} (empty) and {wet} (wet)"
    if dish.wet <= dish.empty:
        what = f"{row} is no heavier with solution ({wet}) than empty ({empty})"
        return [
            FieldFault(f"{stem}.wet", what, f"more than {empty}; perhaps two were swapped", wet)
        ]
    if dish.dried > dish.wet:
        what = f"{row} is heavier dried ({dried}) than wet ({wet})"
        return [FieldFault(f"{stem}.dried", what, f"{between}; perhaps two were swapped", dried)]
    if dish.dried < dish.empty:
        what = f"{row} is lighter dried ({dried}) than empty ({empty})"
        return [FieldFault(f"{stem}.dried", what, f"{between}, dish and all", dried)]
    return []


def _of_masses(electrode: Electrode) -> list[FieldFault]:
    if electrode.mass is None or electrode.mesh_mass is None:
        return []
    whole, mesh = electrode.mass.value, electrode.mesh_mass.value
    spread = math.hypot(*(e.standard_uncertainty or 0.0 for e in (electrode.mass, electrode.mesh_mass)))  # fmt: skip
    if whole >= mesh - 2.0 * spread:  # two standard uncertainties: weighing alone explains it
        return []
    what = f"the finished piece ({_grams(whole)}) is lighter than its mesh ({_grams(mesh)})"
    return [FieldFault("mass", what, f"{_grams(mesh)} or more, mesh and all; perhaps two were swapped", _grams(whole))]  # fmt: skip


def _of_thickness(electrode: Electrode) -> list[FieldFault]:
    for place, value in enumerate(electrode.thickness):
        if value > THICKEST + 1e-9:
            what = f"{1e3 * value:.4g} mm (reading {place + 1}) is no thickness of an electrode"
            allowed = f"at most {1e3 * THICKEST:g} mm; look at the decimal mark and the unit"
            return [FieldFault("thickness", what, allowed, f"{1e3 * value:.4g} mm")]
    return []


def press_faults(press: Press) -> list[FieldFault]:
    """What of a pressing is asked about: a plate as hot as nothing in a household gets.

    Parameters
    ----------
    press : Press
        A kiln or furnace named with it says that it is meant so.

    Returns
    -------
    list of FieldFault

    Examples
    --------
    >>> from aerode.records.electrodes import Press
    >>> from aerode.records.marks import Entry
    >>> [f.what for f in press_faults(Press(plate_temperature=Entry(value=1173.15)))]
    ['900 °C is hotter than any household press, iron or oven gets']
    """
    plate = press.plate_temperature
    said = f"{press.means} {press.note}".casefold()
    if plate is None or plate.value <= HOTTEST_PLATE + 1e-6 or any(word in said for word in KILNS):
        return []
    celsius = f"{plate.value - 273.15:.4g} °C"
    return [FieldFault(
        "plate_temperature", f"{celsius} is hotter than any household press, iron or oven gets",
        f"up to {HOTTEST_PLATE - 273.15:g} °C; was °F meant, or a digit too many? If it was so hot, say in what "
        "(“With what”: a kiln, a furnace)", plate.text or celsius,
    )]  # fmt: skip


def _of_presses(electrode: Electrode) -> list[FieldFault]:
    return [
        dataclasses.replace(fault, field=f"press.{place}.{fault.field}")
        for place, press in enumerate(electrode.press)
        for fault in press_faults(press)
    ]


def _of_portions(portions: tuple[Portion, ...]) -> list[FieldFault]:
    """More than anybody stirs by hand; what is merely a lot is asked about (`usecases.mix_size`)."""
    sizes = [p.mass.value if p.mass else p.volume.value * 1e3 if p.volume else 0.0 for p in portions]  # fmt: skip
    if sum(sizes) <= MOST + 1e-9:
        return []
    place = max(range(len(sizes)), key=lambda n: sizes[n])
    portion = portions[place]
    what = f"{sum(sizes):.4g} kg at once is no pot that is stirred by hand"
    if len(portions) > 1:
        what += f", {sizes[place]:.4g} kg of it {portion.of}"
    return [FieldFault(
        f"portions.{place}.{'mass' if portion.mass else 'volume'}", what,
        f"at most {MOST:g} kg in all; look at the decimal mark and the unit", f"{sizes[place]:.4g} kg",
    )]  # fmt: skip


def _of_run(run: Run) -> list[FieldFault]:
    told = [("temperature", run.temperature.value, run.temperature.text)] if run.temperature.known is Known.MEASURED else []  # fmt: skip
    told += [(f"readings.{place}.temperature", one.temperature, one.text) for place, one in enumerate(run.readings)]  # fmt: skip
    faults: list[FieldFault] = []
    for field, kelvin, text in told:
        try:
            if kelvin is not None:
                refuse_temperature(kelvin)
        except RangeError as error:
            faults.append(FieldFault(field, error.what, error.allowed, text))
    return faults
