"""What one electrode costs in materials, part by part."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.quantities import Basis
from aerode.records.doses import CostLine
from aerode.records.mixes import Ingredient
from aerode.records.results import Estimate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.mix.dosing import Dose
    from aerode.measure.mix.lots import Shelf
    from aerode.records.materials import MeshCard, Price

__all__ = ["cost_lines", "cost_per_electrode"]


def cost_lines(
    doses: Sequence[Dose], shelf: Shelf, electrodes: int, *, mesh: MeshCard | None, area: float
) -> tuple[CostLine, ...]:
    """Give the material cost of one electrode, one line for each thing it is made of.

    Parameters
    ----------
    doses : sequence of Dose
        Exact wet doses for all electrodes, spare included [kg].
    shelf : Shelf
        The lots with their prices.
    electrodes : int
        How many the doses are for.
    mesh : MeshCard, optional
        The collector; without one its line says so.
    area : float
        Area of one electrode, without offcut [m²].

    Returns
    -------
    tuple of CostLine
        `cost` None, with the reason, where a price is missing or cannot be applied.

    Examples
    --------
    >>> from aerode.measure.mix.dosing import Dose
    >>> from aerode.measure.mix.lots import Shelf
    >>> from aerode.records.materials import Function, PowderLot, Price
    >>> black = PowderLot(name="black", substance="carbon black", function=Function.CONDUCTOR,
    ...                   price=Price(amount=12.0, per_mass=0.5))
    >>> doses = [Dose(shelf=Ingredient.POWDER, of="black", mass=0.01)]
    >>> lines = cost_lines(doses, Shelf.of([black]), 4, mesh=None, area=9e-4)
    >>> round(lines[0].cost or 0, 3), lines[1].reason
    (0.06, 'no mesh named')
    """
    lines = [_of_dose(dose, shelf, electrodes) for dose in doses]
    if mesh is None:
        lines.append(CostLine(part="mesh", of="mesh", cost=None, reason="no mesh named"))
    else:
        weight = mesh.mass_per_area.value * area if mesh.mass_per_area else None
        lines.append(
            _line("mesh", mesh.name, mesh.price, mass=weight, volume=None, area=area, pieces=1)
        )
    return tuple(lines)


def _of_dose(dose: Dose, shelf: Shelf, electrodes: int) -> CostLine:
    price: Price | None
    density: float | None = None
    if dose.shelf is Ingredient.POWDER:
        price = shelf.powders[dose.of].price
    elif dose.shelf is Ingredient.SOLUTION:
        lot = shelf.solutions[dose.of]
        price, density = lot.price, lot.density.value if lot.density else None
    else:
        bottle = shelf.solvent(dose.of)
        price, density = bottle.lot.price, bottle.density.value if bottle.density else None
    volume = dose.mass / density if density else None
    return _line(
        dose.shelf.value,
        dose.of,
        price,
        mass=dose.mass,
        volume=volume,
        area=None,
        pieces=electrodes,
    )


def _line(
    part: str, of: str, price: Price | None, *, mass: float | None, volume: float | None,
    area: float | None, pieces: int,
) -> CostLine:  # fmt: skip
    if price is None:
        return CostLine(part=part, of=of, cost=None, reason="no price entered")
    ways = (
        (price.per_mass, mass, "its mass is not known"),
        (price.per_volume, volume, "priced by volume, and its density is not known"),
        (price.per_area, area, "priced by area"),
    )
    reason = "the price does not say for how much"
    for pack, used, lacking in ways:
        if pack is None:
            continue
        if used is not None:
            cost = price.amount * used / pack / pieces
            return CostLine(part=part, of=of, cost=cost, currency=price.currency)
        reason = lacking
    return CostLine(part=part, of=of, cost=None, currency=price.currency, reason=reason)


def cost_per_electrode(lines: Sequence[CostLine], currency: str) -> Estimate:
    """Give the sum over the lines, or what is known of it and what is missing.

    Parameters
    ----------
    lines : sequence of CostLine
        From `cost_lines`.
    currency : str
        The bench's currency; prices in another one are not converted.

    Returns
    -------
    Estimate
        Unit: the currency. Without a value, `lower_bound` is the sum of what is known and `reason`
        names what is not.
    """
    foreign = [line for line in lines if line.cost is not None and line.currency != currency]
    known = [line for line in lines if line.cost is not None and line.currency == currency]
    total = sum(line.cost or 0.0 for line in known)
    missing = [f"{line.of} ({line.reason})" for line in lines if line.cost is None]
    missing += [f"{line.of} (priced in {line.currency}, not converted)" for line in foreign]
    meaning = "materials of one electrode, spare included, offcut of the mesh not"
    if not missing:
        return Estimate(value=total, unit=currency, meaning=meaning, basis=Basis.MEASURED)
    return Estimate(
        value=None, unit=currency, identifiable=False, meaning=meaning,
        reason="cost unknown for " + ", ".join(missing),
        lower_bound=total if known else None,
    )  # fmt: skip
