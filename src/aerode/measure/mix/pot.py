"""The pot: wet portions read into uncertain inputs, lot by lot."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import InputError, RangeError
from aerode.measure.mix.assumed import VOLUME_LIMIT
from aerode.measure.mix.inputs import Inputs
from aerode.measure.mix.lots import Powder, Shelf, Solved
from aerode.measure.mix.published import density_on_file
from aerode.quantities import Quantity
from aerode.records.materials import Function
from aerode.records.mixes import AS_PLANNED, Ingredient

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.mix.weighing import Scale
    from aerode.records.mixes import Portion

__all__ = ["Part", "Pot", "fill"]


@dataclass(frozen=True, slots=True)
class Part:
    """One dry component: which lot it comes from, what it is, and what it does."""

    of: str
    substance: str
    function: Function
    powder: bool = True
    """False for what a solution leaves."""

    @property
    def key(self) -> str:
        """Lot and function: a solution gives its polymer and its plasticiser apart."""
        return f"{self.of}|{self.function.value}"


@dataclass(slots=True, kw_only=True)
class Pot:
    """What is in the pot and where each input stands.

    `amounts` gives, for each lot, the places of its portions and, where a portion was poured by
    volume, of the density that turns it into a mass.
    """

    shelf: Shelf
    scale: Scale
    where: str
    inputs: Inputs = field(default_factory=Inputs)
    amounts: dict[tuple[Ingredient, str], list[tuple[int, int | None]]] = field(
        default_factory=dict[tuple[Ingredient, str], list[tuple[int, int | None]]]
    )
    powders: dict[str, Powder] = field(default_factory=dict[str, Powder])
    solutions: dict[str, Solved] = field(default_factory=dict[str, Solved])
    notes: list[str] = field(default_factory=list[str])
    grain: dict[str, Part] = field(default_factory=dict[str, Part])
    """Part of each powder."""
    polymer: dict[str, Part] = field(default_factory=dict[str, Part])
    """Polymer (or wax) of each solution."""
    soft: dict[str, Part] = field(default_factory=dict[str, Part])
    """Plasticiser of each solution that has one."""
    density_at: dict[str, int] = field(default_factory=dict[str, int])
    """Place of the true density by part key; missing where it is not known."""

    @property
    def parts(self) -> tuple[Part, ...]:
        """Powders first, then each solution's polymer and plasticiser."""
        found = list(self.grain.values())
        for name, part in self.polymer.items():
            found += [part, *([self.soft[name]] if name in self.soft else [])]
        return tuple(found)


def fill(
    portions: Sequence[Portion], shelf: Shelf, scale: Scale, *, where: str, exact: bool
) -> Pot:
    """Read portions into a pot.

    Parameters
    ----------
    portions : sequence of Portion
        As received [kg] or [m³].
    shelf : Shelf
        The lots.
    scale : Scale
        What they were weighed on.
    where : str
        The name of the mix, for refusals.
    exact : bool
        True where the portions were computed and not weighed.

    Returns
    -------
    Pot
        With every input once.

    Raises
    ------
    InputError, NotFoundError, RangeError
        As `compose`.
    """
    if not portions:
        raise InputError(
            "the mix holds nothing", where=where, allowed="one portion or more",
            next_step='name what goes in, as in --portion "biochar A=12.0 g"',
        )  # fmt: skip
    pot = Pot(shelf=shelf, scale=scale, where=where)
    for number, portion in enumerate(portions):
        _take_in(pot, portion, number, exact=exact)
    twice = pot.powders.keys() & pot.solutions.keys()
    if twice:
        raise InputError(
            f"{min(twice)!r} is both a powder and a solution of this mix", where=where,
            allowed="a name for each", next_step="rename one of the two lots",
        )  # fmt: skip
    _settle_powders(pot)
    _settle_solutions(pot)
    if not pot.parts:
        raise RangeError(
            "nothing dry is left of this mix: it holds solvents only", where=where,
            allowed="a powder or a solution among the portions", next_step="add one",
        )  # fmt: skip
    return pot


def _take_in(pot: Pot, portion: Portion, number: int, *, exact: bool) -> None:
    density: Quantity | None = None
    if portion.shelf is Ingredient.POWDER:
        pot.powders[portion.of] = pot.shelf.powder(portion.of, where=pot.where)
    elif portion.shelf is Ingredient.SOLUTION:
        solved = pot.shelf.solution(portion.of, pot.scale, where=pot.where)
        pot.solutions[portion.of], density = solved, solved.liquid_density
    else:
        density = pot.shelf.solvent(portion.of, where=pot.where).density
    entry = portion.mass or portion.volume
    if entry is not None and entry.how == AS_PLANNED:
        spread = (entry.standard_uncertainty or 0.0) / entry.value if entry.value else 0.0
        pot.notes.append(
            f"{portion.of}: not weighed; what was planned is taken, ±{100 * spread:.2g} %"
        )
    if portion.mass is not None:
        amount: tuple[int, int | None] = (_weighed(pot, portion, number, exact=exact), None)
    else:
        amount = _poured(pot, portion, number, density)
    pot.amounts.setdefault((portion.shelf, portion.of), []).append(amount)


def _positive(value: float, portion: Portion, where: str) -> None:
    if not (np.isfinite(value) and value > 0):
        raise RangeError(
            f"the portion of {portion.of!r} is {value:g}", where=where, allowed="above 0",
            next_step="leave it out if none went in",
        )  # fmt: skip


def _weighed(pot: Pot, portion: Portion, number: int, *, exact: bool) -> int:
    entry = portion.mass
    assert entry is not None
    _positive(entry.value, portion, pot.where)
    typed = entry.standard_uncertainty
    by_scale = 0.0 if exact or typed is not None else pot.scale.limit_uncertainty
    digits = 0.0 if exact else float(np.sqrt(2.0)) * pot.scale.reading_uncertainty
    quantity = Quantity(
        value=entry.value, unit="kg", standard_uncertainty=digits if typed is None else typed
    )
    return pot.inputs.add(("portion", str(number)), quantity, by_scale=by_scale)


def _beside(pot: Pot, portion: Portion) -> str:
    """What the liquid of a solution weighs by itself, for orientation; never taken for the solution's own."""
    solved = pot.solutions.get(portion.of)
    liquids = () if solved is None else solved.liquids
    known = [(name, found) for name, _ in liquids if (found := density_on_file(name)) is not None]
    said = [f"{name} alone has {1e-3 * (one.value or 0.0):.2f}" for name, one in known]
    return f" ({', '.join(said)}; dissolved polymer adds to it)" if said else ""


def _poured(
    pot: Pot, portion: Portion, number: int, density: Quantity | None
) -> tuple[int, int | None]:
    entry = portion.volume
    assert entry is not None
    _positive(entry.value, portion, pot.where)
    if portion.shelf is Ingredient.POWDER:
        raise InputError(
            f"the powder {portion.of!r} is given by volume, which does not tell its mass",
            where=pot.where, allowed="a mass, as in 12.0 g", next_step="weigh it",
        )  # fmt: skip
    if density is None:
        raise InputError(
            f"{portion.of!r} is given by volume, and no density is entered with that {portion.shelf}", where=pot.where,
            allowed=f'density = "0.85 g/cm^3" with the {portion.shelf} {portion.of!r}, or a mass, as in 24.3 g',
            next_step=f"weigh 10 mL of it once: grams over 10 are g/cm^3{_beside(pot, portion)}",
        )  # fmt: skip
    spread = entry.standard_uncertainty
    if spread is None:
        spread = VOLUME_LIMIT * entry.value / float(np.sqrt(3.0))
        pot.notes.append(f"{portion.of}: volume without ±, ±{100 * VOLUME_LIMIT:g} % assumed")
    volume = Quantity(value=entry.value, unit="m^3", standard_uncertainty=spread)
    return (
        pot.inputs.add(("portion", str(number)), volume),
        pot.inputs.add(("liquid density", portion.of), density),
    )


def _maybe(pot: Pot, key: tuple[str, str], quantity: Quantity | None) -> int | None:
    if quantity is None or quantity.value is None:
        return None
    return pot.inputs.add(key, quantity)


def _know_density(pot: Pot, part: Part, key: tuple[str, str], quantity: Quantity | None) -> None:
    place = _maybe(pot, key, quantity)
    if place is not None:
        pot.density_at[part.key] = place


def _settle_powders(pot: Pot) -> None:
    for name, powder in pot.powders.items():
        part = Part(name, powder.lot.substance, powder.lot.function)
        pot.grain[name] = part
        pot.inputs.add(("moisture", name), powder.moisture)
        own = powder.lot.true_density is not None
        # Two lots of one substance share its published density: one variable.
        key = ("density", name) if own else ("substance density", powder.lot.substance)
        _know_density(pot, part, key, powder.density)
        _maybe(pot, ("oil", name), powder.oil_absorption)
        _maybe(pot, ("assay", name), powder.assay)
        _maybe(pot, ("soluble", name), powder.water_soluble)
        pot.notes += powder.notes


def _settle_solutions(pot: Pot) -> None:
    for name, solved in pot.solutions.items():
        lot = solved.lot
        part = Part(name, lot.polymer, lot.function, powder=False)
        pot.polymer[name] = part
        pot.inputs.add(("solids", name), solved.solids)
        _know_density(pot, part, ("substance density", lot.polymer), solved.polymer_density)
        if solved.plasticiser is not None:
            soft = Part(
                name, lot.plasticiser_substance or "not named", Function.PLASTICISER, powder=False
            )
            pot.soft[name] = soft
            pot.inputs.add(("plasticiser", name), solved.plasticiser)
            key = ("substance density", soft.substance)
            _know_density(pot, soft, key, solved.plasticiser_density)
        pot.notes += solved.notes
