"""What wet portions dry to: masses, shares, liquids to lose, and the balance of binder and voids."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from aerode.measure.mix.bounded import above_nothing, inside_the_whole
from aerode.measure.mix.inputs import Carried, carry
from aerode.measure.mix.lots import BINDER_SIDE
from aerode.measure.mix.pot import Part, Pot, fill
from aerode.quantities import Reason
from aerode.records.mixes import Ingredient
from aerode.records.results import Estimate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.mix.lots import Shelf
    from aerode.measure.mix.weighing import Scale
    from aerode.records.mixes import Portion

__all__ = ["Composition", "DryModel", "compose"]

Key = tuple[str, ...]
Array = NDArray[Any]


_WHOLES = {"fraction", "volume", "solids"}
"""Outputs that are shares of a whole."""


@dataclass(frozen=True, kw_only=True)
class Composition:
    """The dry composition of a mix with every correlation kept.

    `carried` holds the outputs named by `places`: ("mass", part key), ("fraction", part key),
    ("volume", part key), ("dry",), ("wet",), ("solids",), ("liquid", substance), ("lost",),
    ("pigment",), ("critical",), ("fill",), ("voids",), ("packed", lot), ("specific volume",),
    ("assay", lot), ("soluble", lot). A key is not there where an input is not known; `missing` says which:
    "density" (substances), "powder".
    """

    parts: tuple[Part, ...]
    grains: tuple[Part, ...]
    """Those on the powder side of the balance."""
    liquids: tuple[str, ...]
    places: dict[Key, int]
    carried: Carried
    notes: tuple[str, ...]
    missing: dict[str, tuple[str, ...]]

    def value(self, *key: str) -> float:
        """The value of an output, SI."""
        return float(self.carried.values[self.places[key]])

    def uncertainty(self, *key: str) -> float:
        """Its standard uncertainty, SI: the wider of the two readings of the scale's limit."""
        return self.carried.uncertainty(self.places[key])

    def estimate(
        self, *key: str, unit: str, factor: float = 1.0, meaning: str = "", reason: str = ""
    ) -> Estimate:
        """An output for people, or the reason why it is not there.

        Parameters
        ----------
        *key : str
            Name of the output.
        unit : str
            Unit to show.
        factor : float
            Shown value over SI value.
        meaning : str
            What it is, in words.
        reason : str
            What to say where it is not known.
        """
        if key not in self.places:
            return Estimate(value=None, unit=unit, reason=reason or Reason.NOT_MEASURED.value,
                            meaning=meaning, identifiable=False)  # fmt: skip
        value, spread = self.value(*key), self.uncertainty(*key)
        interval = None
        if key[0] in _WHOLES:
            interval = inside_the_whole(value, spread)
        elif unit == "g":
            interval = above_nothing(value * factor, spread * factor)
        return Estimate(
            value=value * factor,
            unit=unit,
            standard_uncertainty=spread * factor,
            interval_95=interval,
            meaning=meaning,
            basis=self.carried.bases[self.places[key]],
        )

    def dry_shares(self) -> dict[str, float]:
        """Dry mass fraction by lot, polymer and plasticiser of a solution together [1]."""
        shares: dict[str, float] = {}
        for part in self.parts:
            shares[part.of] = shares.get(part.of, 0.0) + self.value("fraction", part.key)
        return shares

    def share_uncertainty(self, of: str) -> float:
        """Standard uncertainty of a lot's dry mass fraction, its parts and their correlation together.

        Parameters
        ----------
        of : str
            The lot; one that is not in the mix gives 0.

        Returns
        -------
        float
            The wider of the two readings of the scale's limit [1].
        """
        at = [self.places["fraction", part.key] for part in self.parts if part.of == of]
        block = np.ix_(at, at)
        both = (self.carried.covariance_apart[block], self.carried.covariance_alike[block])
        return float(np.sqrt(max(0.0, *(float(one.sum()) for one in both))))


def compose(
    portions: Sequence[Portion], shelf: Shelf, scale: Scale, *, where: str = "", exact: bool = False
) -> Composition:
    """Give what wet portions dry to, with standard uncertainties and all correlations.

    Parameters
    ----------
    portions : sequence of Portion
        Mass or volume as received [kg] or [m³].
    shelf : Shelf
        The lots, and densities where none was measured.
    scale : Scale
        What the portions were weighed on.
    where : str
        The name of the mix, for refusals.
    exact : bool
        True where the portions were computed and not weighed: then the scale adds nothing.

    Returns
    -------
    Composition
        Shares by mass and by volume (each adding up to 1), liquids by substance, pigment volume,
        critical pigment volume and voids.

    Raises
    ------
    InputError
        If there are no portions, a powder is given by volume, or a solution has no solids.
    NotFoundError
        If a lot does not stand on the shelf.
    RangeError
        If a portion or a share is impossible, or nothing dry is left.

    Notes
    -----
    Powder: dry = wet·(1 − moisture). Solution: dry = wet·solids, of which `plasticiser` is not
    polymer. PVC = V_powder/(V_powder + V_binder side); CPVC = V_powder/(V_powder + Σ m·oil
    absorption); voids = 1 − CPVC/PVC. The oil of several powders is added up as each takes it
    alone: grains of different size pack closer, so CPVC is a lower and the voids an upper estimate.
    Polymer, plasticiser and wax count as filling voids; a wax dispersion does so only once melted.
    """
    pot = fill(portions, shelf, scale, where=where, exact=exact)
    model = DryModel(pot)
    return Composition(
        parts=pot.parts,
        grains=tuple(pot.grain[name] for name in model.grains),
        liquids=model.liquids,
        places=model.places,
        carried=carry(model, pot.inputs),
        notes=tuple(dict.fromkeys(pot.notes)),
        missing=model.missing,
    )


class DryModel:
    """From the inputs of a pot to all outputs, by sums, products and quotients.

    Call it with inputs of shape (inputs,) or (inputs, draws); the answer has shape (outputs,) or
    (outputs, draws), in the order of `places`.
    """

    def __init__(self, pot: Pot) -> None:
        self.pot = pot
        self.at = pot.inputs.places
        self.grains = [n for n, part in pot.grain.items() if part.function not in BINDER_SIDE]
        """Powder lots on the pigment side of the balance."""
        self.missing = self._missing()
        outputs = self._outputs(pot.inputs.vector)
        self.places: dict[Key, int] = {key: i for i, key in enumerate(outputs)}
        self.liquids = tuple(key[1] for key in outputs if key[0] == "liquid")

    def __call__(self, x: Array) -> Array:
        return np.stack(list(self._outputs(x).values()))

    def _missing(self) -> dict[str, tuple[str, ...]]:
        lacking = [p.substance for p in self.pot.parts if p.key not in self.pot.density_at]
        found = {
            "density": tuple(dict.fromkeys(lacking)),
            "powder": () if self.grains else ("no powder",),
        }
        return {what: names for what, names in found.items() if names}

    def _wet(self, x: Array, kind: Ingredient, name: str) -> Any:
        return sum(
            (x[amount] if density is None else x[amount] * x[density])
            for amount, density in self.pot.amounts[(kind, name)]
        )

    def _masses(self, x: Array) -> tuple[dict[str, Any], dict[str, Any], Any]:
        """Dry mass by part key, liquid by substance, and the wet total."""
        pot = self.pot
        dry: dict[str, Any] = {}
        liquid: dict[str, Any] = {}
        total: Any = 0.0
        for name, part in pot.grain.items():
            wet = self._wet(x, Ingredient.POWDER, name)
            water = wet * x[self.at["moisture", name]]
            dry[part.key] = wet - water
            liquid["water"] = liquid.get("water", 0.0) + water
            total = total + wet
        for name, part in pot.polymer.items():
            wet = self._wet(x, Ingredient.SOLUTION, name)
            solids = wet * x[self.at["solids", name]]
            dry[part.key] = solids
            if name in pot.soft:
                dry[pot.soft[name].key] = solids * x[self.at["plasticiser", name]]
                dry[part.key] = solids - dry[pot.soft[name].key]
            for substance, share in pot.solutions[name].liquids:
                liquid[substance] = liquid.get(substance, 0.0) + (wet - solids) * share
            total = total + wet
        for kind, name in pot.amounts:
            if kind is Ingredient.SOLVENT:
                wet = self._wet(x, kind, name)
                substance = pot.shelf.solvents[name].substance
                liquid[substance] = liquid.get(substance, 0.0) + wet
                total = total + wet
        return dry, liquid, total

    def _outputs(self, x: Array) -> dict[Key, Any]:
        dry, liquid, wet = self._masses(x)
        total = sum(dry.values())
        found: dict[Key, Any] = {("mass", key): mass for key, mass in dry.items()}
        found |= {("fraction", key): mass / total for key, mass in dry.items()}
        found[("dry",)] = total
        found[("wet",)] = wet
        found[("solids",)] = total / wet
        found[("lost",)] = wet - total
        found |= {("liquid", substance): mass for substance, mass in liquid.items()}
        for name, part in self.pot.grain.items():
            for kind in ("assay", "soluble"):
                if (kind, name) in self.at:
                    found[(kind, name)] = dry[part.key] * x[self.at[kind, name]]
        if "density" not in self.missing:
            found |= self._volumes(x, dry, total)
        return found

    def _volumes(self, x: Array, dry: dict[str, Any], total: Any) -> dict[Key, Any]:
        volume = {key: mass / x[self.pot.density_at[key]] for key, mass in dry.items()}
        whole = sum(volume.values())
        found: dict[Key, Any] = {("volume", key): one / whole for key, one in volume.items()}
        found[("specific volume",)] = whole / total
        if not self.grains:
            return found
        solid = sum(volume[self.pot.grain[name].key] for name in self.grains)
        pigment = solid / whole
        found[("pigment",)] = pigment
        for name in self.grains:
            place = self.pot.density_at[self.pot.grain[name].key]
            found[("packed", name)] = 1.0 + x[self.at["oil", name]] * x[place]
        oil = sum(dry[self.pot.grain[n].key] * x[self.at["oil", n]] for n in self.grains)
        critical = solid / (solid + oil)
        found[("critical",)] = critical
        found[("fill",)] = pigment / critical
        found[("voids",)] = 1.0 - critical / pigment
        return found
