"""Records of the bench as the plain numbers that the rules look at."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from aerode import properties
from aerode.cautions import lookup
from aerode.cautions.measured_corrosion import corrosion_on_file
from aerode.cautions.shelf_sheets import figures_of_sheet, polymer_of_lot, sheets_of_solution
from aerode.cautions.situation import (
    Air,
    CellPlan,
    OpenLiquid,
    Polymer,
    Powder,
    SheetFigures,
)
from aerode.errors import AerodeError
from aerode.records.electrodes import RecipeState
from aerode.records.marks import Known
from aerode.records.materials import Function
from aerode.records.mixes import Ingredient, Portion

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from aerode.records.electrodes import Cell, Electrode
    from aerode.records.marks import Entry
    from aerode.records.materials import Aluminium, Electrolyte, PowderLot, Solution, SolventLot
    from aerode.records.places import Room

__all__ = [
    "MixView",
    "ShelfView",
    "air_of",
    "cell_view",
    "mix_view",
    "recipe_is_known",
]

# A room is taken at the warm end of what its thermometer says: twice the standard uncertainty.
_WARMER = 2.0
_BINDERS = {Function.BINDER, Function.WET_PROOFER}
_POLYMER_KINDS = {"polymer", "wax"}


@dataclass(frozen=True, slots=True)
class ShelfView:
    """What stands on the shelf, by name."""

    powders: dict[str, PowderLot] = field(default_factory=dict["str", "PowderLot"])
    solutions: dict[str, Solution] = field(default_factory=dict["str", "Solution"])
    solvents: dict[str, SolventLot] = field(default_factory=dict["str", "SolventLot"])

    @classmethod
    def of(
        cls,
        powders: Iterable[PowderLot],
        solutions: Iterable[Solution],
        solvents: Iterable[SolventLot],
    ) -> ShelfView:
        """The shelf from its lots."""
        return cls(
            {p.name: p for p in powders},
            {s.name: s for s in solutions},
            {s.name: s for s in solvents},
        )


@dataclass(frozen=True, slots=True)
class MixView:
    """What a pot holds: open liquids, loose powders, polymers and waxes."""

    liquids: tuple[OpenLiquid, ...]
    powders: tuple[Powder, ...]
    polymers: tuple[Polymer, ...]
    sheets: tuple[SheetFigures, ...] = ()

    def bound(self) -> MixView:
        """The same once it is dry on a mesh: nothing open, no dust, the polymers and what reacts."""
        powders = tuple(
            Powder(
                name=p.name,
                substance=p.substance,
                mass=p.mass,
                recovered=p.recovered,
                water_soluble=p.water_soluble,
                loose=False,
            )
            for p in self.powders
        )
        return MixView((), powders, self.polymers, self.sheets)


def _density(entry: Entry | None, substance: str) -> float | None:
    """Density of a liquid [kg/m^3]: entered, else published, else None."""
    if entry is not None:
        return entry.value
    try:
        # judgement: 20 degC, as labels say
        found = properties.lookup(substance, "density", temperature=293.15)
    except AerodeError:
        return None
    return found.quantity.value


def _mass(portion: Portion, density: float | None) -> float | None:
    if portion.mass is not None:
        return portion.mass.value
    if portion.volume is None or density is None:
        return None
    return portion.volume.value * density


def _solids(lot: Solution) -> float | None:
    """Solids of a solution: measured, else from dishes, else as its label says, else None."""
    if lot.dishes:
        shares = [(d.dried - d.empty) / (d.wet - d.empty) for d in lot.dishes if d.wet > d.empty]
        if shares:
            return min(1.0, max(0.0, sum(shares) / len(shares)))
    entry = lot.solids or lot.label_solids
    return None if entry is None else entry.value


def _is_polymer(lot: PowderLot) -> bool:
    name = lookup.known_name(lot.substance)
    return lot.function in _BINDERS or (name is not None and lookup.kind_of(name) in _POLYMER_KINDS)


def _of_powder(view: _Pot, lot: PowderLot | None, portion: Portion) -> None:
    substance = lot.substance if lot else portion.of
    mass = portion.mass.value if portion.mass is not None else None
    if lot is not None and _is_polymer(lot):
        view.polymers.append(polymer_of_lot(portion.of, substance, lot))
    view.sheets += figures_of_sheet(portion.of, substance, lot.data_sheet if lot else None)
    view.powders.append(
        Powder(
            name=portion.of,
            substance=substance,
            mass=mass,
            recovered=lot.recovered if lot else False,
            water_soluble=lot.water_soluble.value if lot and lot.water_soluble else None,
        )
    )


def _of_solution(view: _Pot, lot: Solution | None, portion: Portion) -> None:
    if lot is None:
        view.polymers.append(Polymer(name=portion.of, substance=""))
        view.liquids.append(OpenLiquid(name=portion.of, substance="", mass=None))
        return
    view.polymers.append(polymer_of_lot(portion.of, lot.polymer, lot))
    view.sheets += sheets_of_solution(lot, _unnamed(portion.of))
    mass, solids = _mass(portion, _density(lot.density, "")), _solids(lot)
    wet = None if mass is None or solids is None else mass * (1.0 - solids)
    named = sum(part.fraction for part in lot.liquid)
    for part in lot.liquid:
        share = None if wet is None else wet * part.fraction
        view.liquids.append(OpenLiquid(name=part.of, substance=part.of, mass=share))
    if named < 1.0 - 1e-6:  # numerical
        rest = None if wet is None else wet * (1.0 - named)
        view.liquids.append(OpenLiquid(name=_unnamed(portion.of), substance="", mass=rest))


def _unnamed(solution: str) -> str:
    return f"liquid of {solution} (not named)"


@dataclass(slots=True)
class _Pot:
    liquids: list[OpenLiquid] = field(default_factory=list[OpenLiquid])
    powders: list[Powder] = field(default_factory=list[Powder])
    polymers: list[Polymer] = field(default_factory=list[Polymer])
    sheets: list[SheetFigures] = field(default_factory=list[SheetFigures])


def mix_view(portions: Sequence[Portion], wanted: Sequence[str], shelf: ShelfView) -> MixView:
    """What a pot holds, from its portions; what is only wanted comes without an amount.

    Parameters
    ----------
    portions : sequence of Portion
        As they went in or will go in, wet.
    wanted : sequence of str
        Names of powders and solutions that are wanted though no portion says how much.
    shelf : ShelfView
        What the names stand for; a name that is not on the shelf is taken as its substance.

    Returns
    -------
    MixView
    """
    pot = _Pot()
    for portion in portions:
        if portion.shelf is Ingredient.SOLVENT:
            lot = shelf.solvents.get(portion.of)
            substance = lot.substance if lot else portion.of
            density = _density(lot.density if lot else None, substance)
            pot.sheets += figures_of_sheet(portion.of, substance, lot.data_sheet if lot else None)
            pot.liquids.append(
                OpenLiquid(name=portion.of, substance=substance, mass=_mass(portion, density))
            )
        elif portion.shelf is Ingredient.SOLUTION:
            _of_solution(pot, shelf.solutions.get(portion.of), portion)
        else:
            _of_powder(pot, shelf.powders.get(portion.of), portion)
    said = {portion.of for portion in portions}
    for name in (n for n in wanted if n not in said):
        _without_amount(pot, name, shelf)
    return MixView(
        _gathered(pot.liquids), tuple(pot.powders), tuple(pot.polymers), tuple(pot.sheets)
    )


def _without_amount(pot: _Pot, name: str, shelf: ShelfView) -> None:
    solution, powder = shelf.solutions.get(name), shelf.powders.get(name)
    if solution is not None:
        pot.polymers.append(polymer_of_lot(name, solution.polymer, solution))
        pot.sheets += sheets_of_solution(solution, _unnamed(name))
        pot.liquids += [
            OpenLiquid(name=part.of, substance=part.of, mass=None) for part in solution.liquid
        ]
        return
    substance = powder.substance if powder else name
    if powder is not None and _is_polymer(powder):
        pot.polymers.append(polymer_of_lot(name, substance, powder))
    pot.sheets += figures_of_sheet(name, substance, powder.data_sheet if powder else None)
    pot.powders.append(
        Powder(
            name=name,
            substance=substance,
            mass=None,
            recovered=powder.recovered if powder else False,
            water_soluble=powder.water_soluble.value if powder and powder.water_soluble else None,
        )
    )


def _gathered(liquids: Sequence[OpenLiquid]) -> tuple[OpenLiquid, ...]:
    """The same liquid from several bottles as one; unknown amounts stay unknown."""
    found: dict[str, OpenLiquid] = {}
    for liquid in liquids:
        key = lookup.known_name(liquid.substance) or liquid.name
        held = found.get(key)
        if held is None:
            found[key] = liquid
        else:
            known = held.mass is not None and liquid.mass is not None
            mass = (held.mass or 0.0) + (liquid.mass or 0.0) if known else None
            found[key] = OpenLiquid(name=held.name, substance=held.substance, mass=mass)
    return tuple(found.values())


def _spread(entry: Entry | None) -> float:
    return (entry.standard_uncertainty or 0.0) if entry is not None else 0.0


def air_of(room: Room | None) -> Air | None:
    """The room as air at its own temperature, 25 °C where nobody read it; None without a room."""
    if room is None:
        return None
    warm = room.temperature
    temperature = (
        # judgement: a room of 25 degC
        warm.value if warm.known is not Known.MAY_DIFFER and warm.value is not None else 298.15
    )
    return Air(
        name=room.name,
        volume=room.volume.value if room.volume else None,
        volume_uncertainty=_spread(room.volume),
        air_changes=room.air_changes.value if room.air_changes else None,
        air_changes_uncertainty=_spread(room.air_changes),
        airing=room.airing.value if room.airing else "",
        exhaust=room.local_exhaust.value if room.local_exhaust else "",
        temperature=temperature + _WARMER * (warm.standard_uncertainty or 0.0),
        how=room.air_changes.how if room.air_changes else "",
    )


def recipe_is_known(electrode: Electrode) -> bool:
    """False for a bought electrode: what is in its layer is not known."""
    return electrode.recipe_state is not RecipeState.BOUGHT


def cell_view(cell: Cell, electrolyte: Electrolyte | None, aluminium: Aluminium | None) -> CellPlan:
    """A cell as the rules look at it; its aluminium counts whole, as if all of it could corrode."""
    area = cell.aluminium_area.value if cell.aluminium_area else None
    density = _density(None, "aluminium")
    thickness = aluminium.thickness.value if aluminium and aluminium.thickness else None
    whole = area is not None and thickness is not None and density is not None
    return CellPlan(
        name=cell.name,
        salt=electrolyte.salt if electrolyte else cell.electrolyte,
        mass_fraction=electrolyte.mass_fraction.value
        if electrolyte and electrolyte.mass_fraction
        else None,
        aluminium_area=area,
        corrosion=corrosion_on_file(cell.corrosion),
        aluminium_mass=(area or 0.0) * (thickness or 0.0) * (density or 0.0) if whole else None,
    )
