"""The way back: from a wanted dry electrode to the wet doses."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode.errors import InputError, RangeError
from aerode.measure.mix.composition import compose
from aerode.measure.mix.weighing import WEIGHABLE_WITHIN, Scale
from aerode.records.marks import Entry
from aerode.records.materials import SolventLot
from aerode.records.mixes import Ingredient, Portion

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.mix.lots import Shelf
    from aerode.records.mixes import Mix

__all__ = ["Dose", "DoseRequest", "doses_for", "portions_of", "wanted_shares", "with_solvents"]

_MOST_SPARE = 5.0  # judgement


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseRequest:
    """What is to be made: electrodes of an area [m²] with a dry loading [kg/m²], and a spare share.

    `solids_fraction` is the wanted dry mass over wet mass (None: as the mix says); `within` the
    relative standard uncertainty up to which a dose counts as weighable.
    """

    area: float
    loading: float
    scale: Scale
    electrodes: int = 1
    spare: float = 0.0
    solids_fraction: float | None = None
    within: float = WEIGHABLE_WITHIN

    def __post_init__(self) -> None:
        _inside("area", self.area, 0.0, 1.0, "above 0, below 1 m^2")
        _inside("loading", self.loading, 0.0, 50.0, "above 0, below 5000 mg/cm^2")  # judgement
        _inside("within", self.within, 0.0, 1.0, "above 0, below 100 %")
        if self.electrodes < 1:
            raise RangeError(
                f"{self.electrodes} electrodes", where="electrodes", allowed="1 or more"
            )
        if not 0.0 <= self.spare <= _MOST_SPARE:
            raise RangeError(
                f"a spare share of {self.spare:g}", where="spare", allowed="0 % to 500 %",
                next_step="type it as in 15 %",
            )  # fmt: skip

    @property
    def dry_mass(self) -> float:
        """Dry mass to mix: loading × area × electrodes × (1 + spare) [kg]."""
        return self.loading * self.area * self.electrodes * (1.0 + self.spare)


def _inside(name: str, value: float, low: float, high: float, allowed: str) -> None:
    if not (math.isfinite(value) and low < value < high):
        raise RangeError(
            f"{name} = {value:g} (SI) is not believable", where=name, allowed=allowed,
            next_step="look at the number and its unit again",
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """An exact wet amount of one lot [kg]; `lot_at_hand` is False for a liquid not on the shelf."""

    shelf: Ingredient
    of: str
    mass: float
    lot_at_hand: bool = True


def wanted_shares(mix: Mix, shelf: Shelf, scale: Scale) -> dict[tuple[Ingredient, str], float]:
    """Give the dry mass fraction of each lot that a mix asks for.

    Parameters
    ----------
    mix : Mix
        With `wanted`, or else with portions.
    shelf : Shelf
        The lots.
    scale : Scale
        What portions and dishes were weighed on.

    Returns
    -------
    dict
        Share by (shelf, lot), adding up to 1; what is wanted as nothing is left out [1].

    Raises
    ------
    InputError
        If the mix holds nothing, or wants a solvent, which leaves nothing dry.
    NotFoundError
        If a name does not stand on the shelf; the nearest names are given.
    """
    if not mix.wanted:
        found = compose(mix.portions, shelf, scale, where=mix.name)
        kinds = {p.of: p.shelf for p in mix.portions if p.shelf is not Ingredient.SOLVENT}
        return {(kinds[of], of): share for of, share in found.dry_shares().items()}
    shares: dict[tuple[Ingredient, str], float] = {}
    for share in mix.wanted:
        kind = shelf.place_of(share.of, where=mix.name)
        if kind is Ingredient.SOLVENT:
            raise InputError(
                f"the solvent {share.of!r} is wanted as {100 * share.fraction:g} % of the dry film, "
                "and leaves nothing dry", where=mix.name,
                allowed="powders and solutions", next_step="give a solids fraction for the liquid",
            )  # fmt: skip
        if share.fraction > 0:
            shares[kind, share.of] = shares.get((kind, share.of), 0.0) + share.fraction
    return shares


def doses_for(
    shares: Mapping[tuple[Ingredient, str], float], dry_mass: float, shelf: Shelf, scale: Scale
) -> list[Dose]:
    """Give the exact wet doses of powders and solutions for a dry mass.

    Parameters
    ----------
    shares : mapping
        Dry mass fraction by (shelf, lot) [1].
    dry_mass : float
        Dry mass of the whole [kg].
    shelf : Shelf
        The lots.
    scale : Scale
        What dishes were weighed on.

    Returns
    -------
    list of Dose
        wet = dry mass × share/(1 − moisture) or /solids: the exact inverse of `compose`.

    Raises
    ------
    NotFoundError, InputError, RangeError
        As `compose`.
    """
    doses: list[Dose] = []
    for (kind, name), share in shares.items():
        if kind is Ingredient.POWDER:
            dry_share = shelf.powder(name).dry_share
        else:
            dry_share = shelf.solution(name, scale).dry_share
        doses.append(Dose(shelf=kind, of=name, mass=dry_mass * share / dry_share))
    return doses


def with_solvents(
    doses: list[Dose], mix: Mix, shelf: Shelf, dry_mass: float, solids_fraction: float | None
) -> tuple[list[Dose], Shelf]:
    """Give the doses with the pure solvent that the mix or a wanted solids fraction asks for.

    Parameters
    ----------
    doses : list of Dose
        Powders and solutions.
    mix : Mix
        Its solvents are kept in proportion where no solids fraction is wanted.
    shelf : Shelf
        The lots.
    dry_mass : float
        Dry mass of the whole [kg].
    solids_fraction : float, optional
        Wanted dry mass over wet mass, above 0, at most 1 [1].

    Returns
    -------
    tuple
        `(doses, shelf)`; the shelf has a nameless bottle added where the liquid of a solution is
        taken to thin with and no bottle of it stands there.

    Raises
    ------
    RangeError
        If the solids fraction cannot be reached without taking liquid out; the reachable one is
        named.
    InputError
        If there is nothing to thin with.
    """
    wanted = solids_fraction
    if wanted is None and mix.solids_fraction is not None:
        wanted = mix.solids_fraction.value
    if wanted is None:
        return doses + _solvents_in_proportion(mix, shelf, dry_mass), shelf
    if not 0.0 < wanted <= 1.0:
        raise RangeError(
            f"a solids fraction of {wanted:g}", where="solids fraction", allowed="above 0 %, at most 100 %",
            next_step="type it as in 18 %",
        )  # fmt: skip
    wet = sum(dose.mass for dose in doses)
    extra = dry_mass / wanted - wet
    if extra < -1e-9 * wet:
        raise RangeError(
            f"the solutions and the damp powders alone bring it down to "
            f"{100 * dry_mass / wet:.1f} % solids",
            where="solids fraction",
            allowed=f"at most {100 * dry_mass / wet:.1f} %",
            next_step="ask for less, or thicken the solution by letting some solvent off",
        )
    if extra <= 1e-9 * wet:
        return doses, shelf
    name, shelf, at_hand = _thinner(mix, shelf, doses)
    extra_dose = Dose(shelf=Ingredient.SOLVENT, of=name, mass=extra, lot_at_hand=at_hand)
    return [*doses, extra_dose], shelf


def _solvents_in_proportion(mix: Mix, shelf: Shelf, dry_mass: float) -> list[Dose]:
    """The pure solvents of the portions, scaled to the dry mass."""
    bottles = [p for p in mix.portions if p.shelf is Ingredient.SOLVENT]
    if not bottles:
        return []
    any_scale = Scale(name="none", resolution=1e-6, limit_of_error=0.0)  # numerical
    found = compose(mix.portions, shelf, any_scale, where=mix.name, exact=True)
    doses: dict[str, float] = {}
    for portion in bottles:
        if portion.mass is not None:
            mass = portion.mass.value
        else:
            density = shelf.solvent(portion.of).density
            assert portion.volume is not None
            mass = portion.volume.value * ((density.value if density else None) or 0.0)
        doses[portion.of] = doses.get(portion.of, 0.0) + mass * dry_mass / found.value("dry")
    return [Dose(shelf=Ingredient.SOLVENT, of=name, mass=mass) for name, mass in doses.items()]


def _thinner(mix: Mix, shelf: Shelf, doses: Sequence[Dose]) -> tuple[str, Shelf, bool]:
    """What to thin with: the mix's own solvent, else the main liquid of its largest solution."""
    for portion in mix.portions:
        if portion.shelf is Ingredient.SOLVENT:
            return portion.of, shelf, True
    solutions = [d for d in doses if d.shelf is Ingredient.SOLUTION]
    for dose in sorted(solutions, key=lambda d: -d.mass):
        liquid = sorted(shelf.solutions[dose.of].liquid, key=lambda part: -part.fraction)
        if not liquid:
            continue
        substance = liquid[0].of
        for bottle in shelf.solvents.values():
            if bottle.substance == substance:
                return bottle.name, shelf, True
        lot = SolventLot(name=substance, substance=substance)
        return substance, replace(shelf, solvents={**shelf.solvents, substance: lot}), False
    raise InputError(
        "there is nothing to thin this mix with", where=mix.name,
        allowed="a solvent among the portions, or a solution whose liquid is named",
        next_step='add one, as in --portion "ethanol=5 g"',
    )  # fmt: skip


def portions_of(doses: Sequence[Dose], scale: Scale | None = None) -> list[Portion]:
    """Doses as portions, rounded to the scale if one is given; what rounds to nothing is left out.

    Parameters
    ----------
    doses : sequence of Dose
        Wet amounts [kg].
    scale : Scale, optional
        None: exact.

    Returns
    -------
    list of Portion
    """
    found: list[Portion] = []
    for dose in doses:
        mass = dose.mass if scale is None else scale.rounded(dose.mass)
        if mass > 0:
            found.append(Portion(of=dose.of, shelf=dose.shelf, mass=Entry(value=mass)))
    return found
