"""The dose sheet: exact doses rounded to the scale, what that does, and what the scale cannot do."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.mix.composition import compose
from aerode.measure.mix.masterbatch import Split, masterbatches, too_small
from aerode.records.doses import DoseLine, DoseSheet, Masterbatch
from aerode.records.marks import Entry
from aerode.records.materials import SolventLot
from aerode.records.mixes import Ingredient, Portion

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.mix.composition import Composition
    from aerode.measure.mix.dosing import Dose, DoseRequest
    from aerode.measure.mix.lots import Shelf

__all__ = ["as_weighed", "dose_sheet"]


def as_weighed(
    doses: Sequence[Dose], splits: Sequence[Split], request: DoseRequest
) -> list[Portion]:
    """Give the portions that end up in the pot when the sheet is followed.

    Parameters
    ----------
    doses : sequence of Dose
        Exact wet doses [kg].
    splits : sequence of Split
        Masterbatches for those too small to weigh.
    request : DoseRequest
        With the scale to round to.

    Returns
    -------
    list of Portion
        Rounded masses; what comes by a masterbatch with the mass that its taken part delivers.
    """
    by_batch = {name: split for split in splits for name in split.of}
    by_carrier = {split.carrier: split for split in splits}
    portions: list[Portion] = []
    for dose in doses:
        spread: float | None = None
        if dose.of in by_batch:
            split = by_batch[dose.of]
            mass = split.delivered[dose.of]
            spread = split.relative_uncertainty * mass
        elif dose.of in by_carrier:
            split = by_carrier.pop(dose.of)
            mass = split.delivered[dose.of] + split.carrier_left
        else:
            mass = request.scale.rounded(dose.mass)
        if mass > 0:
            entry = Entry(value=mass, standard_uncertainty=spread)
            portions.append(Portion(of=dose.of, shelf=dose.shelf, mass=entry))
    for name, split in by_carrier.items():  # a liquid that only the masterbatch brings
        entry = Entry(value=split.delivered[name])
        portions.append(Portion(of=name, shelf=Ingredient.SOLVENT, mass=entry))
    return portions


def dose_sheet(
    doses: Sequence[Dose],
    shares: Mapping[tuple[Ingredient, str], float],
    shelf: Shelf,
    request: DoseRequest,
) -> tuple[DoseSheet, Composition]:
    """Give the sheet to weigh by, and the composition it really makes.

    Parameters
    ----------
    doses : sequence of Dose
        Exact wet doses, solvents included [kg].
    shares : mapping
        Wanted dry mass fraction by (shelf, lot) [1].
    shelf : Shelf
        The lots.
    request : DoseRequest
        What is to be made and on which scale.

    Returns
    -------
    tuple
        `(sheet, composition)`; the composition carries the uncertainty of each weighing.

    Raises
    ------
    RangeError
        If every dose rounds to nothing on this scale.
    """
    scale = request.scale
    splits, _ = masterbatches(doses, shelf, scale, request.within)
    small = {d.of for d in too_small(doses, scale, request.within)}
    shelf = _with_liquids(shelf, splits)
    composition = compose(as_weighed(doses, splits, request), shelf, scale, where="dose sheet")
    made = composition.dry_shares()
    return (
        DoseSheet(
            electrodes=request.electrodes,
            area_cm2=request.area * 1e4,
            loading_mg_cm2=request.loading * 100.0,
            spare=request.spare,
            scale=scale.shown,
            weighable_within=request.within,
            lines=tuple(_line(d, splits, shelf, request, small) for d in doses),
            composition_error={of: made.get(of, 0.0) - share for (_, of), share in shares.items()},
            dry_mass_g=composition.value("dry") * 1e3,
            wet_mass_g=composition.value("wet") * 1e3,
            solids_fraction=composition.value("solids"),
            scale_cannot=tuple(_cannot(d, request) for d in doses if d.of in small),
            enough_for_electrodes=_enough_for(doses, request) if small else None,
            masterbatches=tuple(_written(split) for split in splits),
            stock_short=tuple(_short(doses, splits, shelf)),
        ),
        composition,
    )


def _with_liquids(shelf: Shelf, splits: Sequence[Split]) -> Shelf:
    """The shelf with a nameless bottle for each liquid that only a masterbatch brings."""
    lots = {**shelf.powders, **shelf.solutions, **shelf.solvents}
    extra = {s.carrier: SolventLot(name=s.carrier, substance=s.carrier) for s in splits
             if s.carrier not in lots}  # fmt: skip
    return replace(shelf, solvents={**shelf.solvents, **extra})


def _line(
    dose: Dose, splits: Sequence[Split], shelf: Shelf, request: DoseRequest, small: set[str]
) -> DoseLine:
    amount = request.scale.rounded(dose.mass)
    batch = next((s for s in splits if dose.of in s.of), None)
    carrier = next((s for s in splits if s.carrier == dose.of), None)
    how = ""
    if batch is not None:
        how = "too little: masterbatch"
    elif dose.of in small:
        how = "too little to weigh"
    elif carrier is not None:
        how = f"{_grams(request.scale.rounded(carrier.delivered[dose.of])):g} g by masterbatch"
    elif amount <= 0:
        how = "less than one step"
    if not dose.lot_at_hand:
        how = (how + "; " if how else "") + "not on the shelf"
    relative = request.scale.net_uncertainty / dose.mass
    return DoseLine(
        of=dose.of,
        shelf=dose.shelf.value,
        amount_g=_grams(amount),
        exact_g=dose.mass * 1e3,
        volume_mL=_millilitres(dose, shelf),
        relative_uncertainty=relative,
        weighable=relative <= request.within,
        how=how,
        together=tuple(batch.parts) if batch else (),
    )


def _grams(mass: float) -> float:
    """[g], without the dust of binary fractions: no scale here steps finer than a microgram."""
    return round(mass * 1e3, 6)


def _millilitres(dose: Dose, shelf: Shelf) -> float | None:
    density: float | None = None
    if dose.shelf is Ingredient.SOLUTION:
        entry = shelf.solutions[dose.of].density
        density = entry.value if entry else None
    elif dose.shelf is Ingredient.SOLVENT:
        found = shelf.solvent(dose.of).density
        density = found.value if found else None
    return dose.mass / density * 1e6 if density else None


def _cannot(dose: Dose, request: DoseRequest) -> str:
    relative = request.scale.net_uncertainty / dose.mass
    return f"{dose.of} ({units.write(dose.mass, 'kg', to='g', digits=2)}, ±{100 * relative:.0f} %)"


def _enough_for(doses: Sequence[Dose], request: DoseRequest) -> int:
    """The least number of electrodes at which every dry dose can be weighed by itself."""
    least = min(d.mass for d in doses if d.shelf is not Ingredient.SOLVENT)
    needed = request.scale.net_uncertainty / request.within
    return math.ceil(request.electrodes * needed / least - 1e-9)  # numerical


def _written(split: Split) -> Masterbatch:
    return Masterbatch(
        of=split.of,
        carrier=split.carrier,
        parts_g={name: _grams(mass) for name, mass in split.parts.items()},
        take_g=_grams(split.take),
        carrier_left_g=_grams(split.carrier_left),
        pots=split.pots,
        relative_uncertainty=split.relative_uncertainty,
        adds_liquid_g=_grams(split.adds_liquid),
    )


def _short(doses: Sequence[Dose], splits: Sequence[Split], shelf: Shelf) -> list[str]:
    """What is short of stock, counting all of a masterbatch."""
    found: list[str] = []
    for dose in doses:
        lot = (
            shelf.powders.get(dose.of)
            if dose.shelf is Ingredient.POWDER
            else shelf.solutions.get(dose.of)
            if dose.shelf is Ingredient.SOLUTION
            else shelf.solvents.get(dose.of)
        )
        stock = lot.stock if lot is not None else None
        if stock is None:
            continue
        needed = dose.mass
        for split in splits:
            if dose.of in split.parts:
                needed = max(needed, split.parts[dose.of] + (
                    split.carrier_left if split.carrier == dose.of else 0.0))  # fmt: skip
        if needed > stock.value:
            have = units.write(stock.value, "kg", to="g")
            found.append(f"{dose.of}: {units.write(needed, 'kg', to='g')} needed, {have} in stock")
    return found
