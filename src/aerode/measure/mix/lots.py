"""What each lot dries to: moisture of a powder, solids and plasticiser of a solution, densities."""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import InputError, NotFoundError, RangeError, some_of
from aerode.measure.mix.assumed import (
    LABEL_LIMIT,
    UNSTATED_LIMIT,
    moisture_band,
    oil_absorption_band,
    plasticiser_density_band,
    with_some_uncertainty,
)
from aerode.measure.mix.solids import dish_solids
from aerode.quantities import Basis, Quantity
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Ingredient

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from aerode.measure.mix.weighing import Scale
    from aerode.records.marks import Entry

__all__ = ["BINDER_SIDE", "Powder", "Shelf", "Solved", "Solvent", "quantity_of", "solids_of"]

BINDER_SIDE = frozenset({Function.BINDER, Function.WET_PROOFER, Function.PLASTICISER})
"""What fills the voids between grains: polymer, plasticiser and wax."""


def quantity_of(entry: Entry, unit: str, limit: float = UNSTATED_LIMIT) -> tuple[Quantity, bool]:
    """An entered value as a quantity, and whether its uncertainty had to be assumed.

    Parameters
    ----------
    entry : Entry
        Value in `unit`; `published` names a sheet or label.
    unit : str
        SI unit.
    limit : float
        Half-width of a rectangular error as a share of the value, used where there is no ± [1].

    Returns
    -------
    tuple
        `(quantity, assumed)`.
    """
    assumed = entry.standard_uncertainty is None
    spread = (
        abs(entry.value) * limit / math.sqrt(3.0)
        if entry.standard_uncertainty is None
        else entry.standard_uncertainty
    )
    basis = Basis.PUBLISHED if entry.published else Basis.MEASURED
    quantity = Quantity(
        value=entry.value, unit=unit, standard_uncertainty=spread, basis=basis,
        source=entry.published or entry.how,
    )  # fmt: skip
    return quantity, assumed


def _share(entry: Entry, what: str, name: str, *, limit: float = UNSTATED_LIMIT) -> Quantity:
    if not 0.0 <= entry.value <= 1.0:
        slip = " Was it typed in per cent?" if 1.0 < entry.value <= 100.0 else ""  # judgement
        raise RangeError(
            f"the {what} of {name!r} is {entry.value:g}: a share of a mass cannot be that.{slip}",
            where=name,
            allowed="0 to 1, or 0 % to 100 % with the sign",
            next_step=f"enter the {what} again",
        )
    return quantity_of(entry, "", limit)[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Powder:
    """A powder lot with what the mix needs of it; `notes` are the assumptions made."""

    lot: PowderLot
    moisture: Quantity
    density: Quantity | None
    oil_absorption: Quantity
    assay: Quantity | None
    water_soluble: Quantity | None
    notes: tuple[str, ...] = ()

    @property
    def dry_share(self) -> float:
        """Dry mass over mass as received [1]."""
        return 1.0 - (self.moisture.value or 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """A solution or dispersion: its dry solids, the plasticiser among them, and its liquids."""

    lot: Solution
    solids: Quantity
    plasticiser: Quantity | None
    polymer_density: Quantity | None
    plasticiser_density: Quantity | None
    liquid_density: Quantity | None
    liquids: tuple[tuple[str, float], ...]
    notes: tuple[str, ...] = ()

    @property
    def dry_share(self) -> float:
        """Dry mass over mass as poured [1]."""
        return self.solids.value or 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Solvent:
    """A pure solvent; `density` is of the liquid."""

    lot: SolventLot
    density: Quantity | None


def _no_quantities() -> dict[str, Quantity]:
    return {}


@dataclass(frozen=True, kw_only=True)
class Shelf:
    """The lots at hand by name, and the published figures for what was not measured.

    Parameters
    ----------
    powders, solutions, solvents : mapping
        Lots by their own name.
    densities : mapping
        Density by substance, as on file [kg/m³].
    oil_absorptions : mapping
        Oil absorption by substance, as on file [m³/kg].
    """

    powders: Mapping[str, PowderLot]
    solutions: Mapping[str, Solution]
    solvents: Mapping[str, SolventLot]
    densities: Mapping[str, Quantity] = field(default_factory=_no_quantities)
    oil_absorptions: Mapping[str, Quantity] = field(default_factory=_no_quantities)

    @classmethod
    def of(
        cls,
        powders: Iterable[PowderLot] = (),
        solutions: Iterable[Solution] = (),
        solvents: Iterable[SolventLot] = (),
        *,
        densities: Mapping[str, Quantity] | None = None,
        oil_absorptions: Mapping[str, Quantity] | None = None,
    ) -> Shelf:
        """A shelf from lists of lots."""
        return cls(
            powders={lot.name: lot for lot in powders},
            solutions={lot.name: lot for lot in solutions},
            solvents={lot.name: lot for lot in solvents},
            densities=densities or {},
            oil_absorptions=oil_absorptions or {},
        )

    def holds(self, kind: Ingredient, name: str) -> bool:
        """True if a name stands on this shelf."""
        return name in self._by_kind()[kind]

    def place_of(self, name: str, *, where: str = "") -> Ingredient:
        """On which shelf a name stands.

        Raises
        ------
        NotFoundError
            On none; the nearest names are given.
        InputError
            On more than one.
        """
        found = [kind for kind, lots in self._by_kind().items() if name in lots]
        if not found:
            raise self._not_found(name, tuple(Ingredient), where)
        if len(found) > 1:
            raise InputError(
                f"{name!r} stands on the shelf more than once: "
                + " and ".join(kind.value for kind in found),
                where=where,
                allowed=" or ".join(f"{kind.value}:{name}" for kind in found),
                next_step="say which one, or rename one of them",
            )
        return found[0]

    def _by_kind(self) -> dict[Ingredient, Mapping[str, object]]:
        return {
            Ingredient.POWDER: self.powders,
            Ingredient.SOLUTION: self.solutions,
            Ingredient.SOLVENT: self.solvents,
        }

    def _not_found(self, name: str, kinds: tuple[Ingredient, ...], where: str) -> NotFoundError:
        known = [n for kind in kinds for n in self._by_kind()[kind]]
        folded = {n.casefold(): n for n in known}
        near = difflib.get_close_matches(name.casefold(), folded, n=3, cutoff=0.5)
        kind = " or ".join(k.value for k in kinds)
        return NotFoundError(
            f"no {kind} {name!r} stands on this bench's shelf",
            where=where,
            allowed=", ".join(repr(folded[n]) for n in near)
            or (
                some_of((repr(n) for n in known), 6)
                or "a name on the shelf, which is empty yet: enter the powder, solution or solvent first"
            ),
            next_step="take one of these names, or put it on the shelf first",
        )

    def powder(self, name: str, *, where: str = "") -> Powder:
        """A powder lot and what it dries to.

        Parameters
        ----------
        name : str
            Its own name.
        where : str
            The mix it is in, for a refusal.

        Returns
        -------
        Powder
            Moisture 0 to 1 as received; where nobody dried it, the band of its kind, and said so.

        Raises
        ------
        NotFoundError
            No such lot.
        RangeError
            A moisture, assay or soluble part outside 0 to 1, or no dry mass left.
        """
        if name not in self.powders:
            raise self._not_found(name, (Ingredient.POWDER,), where)
        lot = self.powders[name]
        notes: list[str] = []
        moisture = self._moisture(lot, notes)
        density, said = self._density(lot.true_density, lot.substance, name)
        notes += said
        return Powder(
            lot=lot,
            moisture=moisture,
            density=density,
            oil_absorption=self._oil_absorption(lot, notes),
            assay=_share(lot.assay, "assay", name) if lot.assay else None,
            water_soluble=(
                _share(lot.water_soluble, "water-soluble part", name) if lot.water_soluble else None
            ),
            notes=tuple(notes),
        )

    def _moisture(self, lot: PowderLot, notes: list[str]) -> Quantity:
        if lot.moisture is not None:
            moisture = _share(lot.moisture, "moisture", lot.name)
            if moisture.value == 1.0:
                raise RangeError(
                    f"the moisture of {lot.name!r} leaves nothing dry", where=lot.name,
                    allowed="0 to below 1", next_step="weigh it before and after the oven",
                )  # fmt: skip
            return moisture
        assumed, said = moisture_band(lot.function)
        notes.append(f"{lot.name}: {said}")
        return assumed

    def _density(
        self, entry: Entry | None, substance: str, name: str
    ) -> tuple[Quantity | None, list[str]]:
        if entry is not None:
            if not entry.value > 0:
                raise RangeError(
                    f"the density of {name!r} is {entry.value:g} kg/m^3", where=name,
                    allowed="above 0", next_step="enter it again, with its unit",
                )  # fmt: skip
            quantity, assumed = quantity_of(entry, "kg/m^3")
            note = f"{name}: density entered without ±, ±{100 * UNSTATED_LIMIT:g} % assumed"
            return quantity, [note] if assumed else []
        found = self.densities.get(substance)
        if found is None:
            return None, []
        published = with_some_uncertainty(found)
        return published, [f"{name}: density of {substance} not measured, {_said(published)}"]

    def _oil_absorption(self, lot: PowderLot, notes: list[str]) -> Quantity:
        if lot.oil_absorption is not None:
            if lot.oil_absorption.value < 0:
                raise RangeError(
                    f"the oil absorption of {lot.name!r} is below 0", where=lot.name,
                    allowed="0 or more", next_step="enter it again, with its unit",
                )  # fmt: skip
            return quantity_of(lot.oil_absorption, "m^3/kg")[0]
        published = self.oil_absorptions.get(lot.substance)
        if published is None:
            assumed, said = oil_absorption_band(lot.function)
            notes.append(f"{lot.name}: {said}")
            return assumed
        notes.append(f"{lot.name}: oil absorption not measured, {_said(published)}")
        return with_some_uncertainty(published)

    def solution(self, name: str, scale: Scale, *, where: str = "") -> Solved:
        """A solution and what it dries to.

        Parameters
        ----------
        name : str
            Its own name.
        scale : Scale
            The scale its dishes were weighed on.
        where : str
            The mix it is in, for a refusal.

        Returns
        -------
        Solved
            Solids from dried dishes if there are any, else as entered, else from the label (and
            then marked as assumed).

        Raises
        ------
        NotFoundError
            No such solution.
        InputError
            No dishes, no solids entered and no label.
        RangeError
            A share outside 0 to 1, a dish that cannot be, or liquids that add up to more than 1.
        """
        if name not in self.solutions:
            raise self._not_found(name, (Ingredient.SOLUTION,), where)
        lot = self.solutions[name]
        notes: list[str] = []
        solids = _solids(lot, scale, notes)
        plasticiser = _plasticiser(lot, notes)
        polymer, said = self._density(lot.dry_density, lot.polymer, name)
        soft = polymer if lot.dry_density is not None else None
        if plasticiser is not None and soft is None:
            soft, more = self._density(None, lot.plasticiser_substance, name)
            if soft is None:
                soft, why = plasticiser_density_band()
                more = [f"{name}: {why}"]
            said += more
        liquid = quantity_of(lot.density, "kg/m^3")[0] if lot.density else None
        return Solved(
            lot=lot, solids=solids, plasticiser=plasticiser, polymer_density=polymer,
            plasticiser_density=soft, liquid_density=liquid, liquids=_liquids(lot),
            notes=(*notes, *said),
        )  # fmt: skip

    def solvent(self, name: str, *, where: str = "") -> Solvent:
        """A bottle of solvent.

        Raises
        ------
        NotFoundError
            No such bottle.
        """
        if name not in self.solvents:
            raise self._not_found(name, (Ingredient.SOLVENT,), where)
        lot = self.solvents[name]
        return Solvent(lot=lot, density=self._density(lot.density, lot.substance, name)[0])


_BENCH_UNITS = {"kg/m^3": "g/cm^3", "m^3/kg": "mL/g"}


def _said(quantity: Quantity) -> str:
    source = f" ({quantity.source.replace('_', ' ')})" if quantity.source else ""
    return f"{quantity.basis.value}: {quantity.written(to=_BENCH_UNITS.get(quantity.unit, ''))}{source}"


def solids_of(lot: Solution, scale: Scale) -> tuple[Quantity, tuple[str, ...]]:
    """The solids of a solution by mass, and what had to be assumed.

    Parameters
    ----------
    lot : Solution
        Its dishes count first, then what was measured otherwise, then the label.
    scale : Scale
        The dishes were weighed on it.

    Returns
    -------
    tuple
        Solids with standard uncertainty [1], notes.

    Raises
    ------
    InputError
        Nothing is known of them.
    RangeError
        A dish cannot be right, or nothing is dissolved.
    """
    notes: list[str] = []
    return _solids(lot, scale, notes), tuple(notes)


def _solids(lot: Solution, scale: Scale, notes: list[str]) -> Quantity:
    if lot.dishes:
        found = dish_solids(lot.dishes, scale, name=lot.name)
        notes += found.notes
        return found.solids
    if lot.solids is not None:
        solids = _share(lot.solids, "solids", lot.name)
    elif lot.label_solids is not None:
        label = _share(lot.label_solids, "label's solids", lot.name, limit=LABEL_LIMIT)
        notes.append(
            f"{lot.name}: solids not measured; the label's {_label_words(label)} are taken; dry three dishes"
        )
        solids = Quantity(
            value=label.value, unit="", standard_uncertainty=label.standard_uncertainty,
            basis=Basis.ASSUMED, source="label",
        )  # fmt: skip
    else:
        raise InputError(
            f"nothing is known of the solids of {lot.name!r}", where=lot.name,
            allowed="dried dishes, a measured solids fraction, or the label's figure",
            next_step="weigh a dish empty, with some solution, and after drying; three dishes do",
        )  # fmt: skip
    if not solids.value:
        raise RangeError(
            f"the solids of {lot.name!r} are 0: it is a solvent", where=lot.name,
            allowed="above 0, at most 1", next_step="put it on the shelf as a solvent",
        )  # fmt: skip
    return solids


def _label_words(label: Quantity) -> str:
    """As the page of the solution tells it: one figure has one error everywhere."""
    spread = label.standard_uncertainty
    return units.write(100 * (label.value or 0.0), "%", None if spread is None else 100 * spread)


def _plasticiser(lot: Solution, notes: list[str]) -> Quantity | None:
    if lot.plasticiser is None or lot.plasticiser.value == 0:
        return None
    sheet = bool(lot.plasticiser.published)
    limit = LABEL_LIMIT if sheet else UNSTATED_LIMIT
    share = _share(lot.plasticiser, "plasticiser", lot.name, limit=limit)
    if lot.plasticiser.standard_uncertainty is None:
        notes.append(
            f"{lot.name}: plasticiser {100 * (share.value or 0):g} % of the dry solids, "
            f"±{100 * limit:g} % of it assumed"
        )
    return share


def _liquids(lot: Solution) -> tuple[tuple[str, float], ...]:
    total = sum(part.fraction for part in lot.liquid)
    if total > 1.0 + 1e-6:  # numerical
        raise RangeError(
            f"the liquids of {lot.name!r} add up to {total:g}", where=lot.name,
            allowed="shares of the liquid that add up to 1", next_step="enter them again",
        )  # fmt: skip
    named = tuple((part.of, part.fraction) for part in lot.liquid)
    if total < 1.0 - 1e-6:  # numerical
        return (*named, (f"liquid of {lot.name} (not named)", 1.0 - total))
    return named
