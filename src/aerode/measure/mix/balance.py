"""The balance of binder and voids in words, and the porosity it leaves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.physics.packing import closest_specific_volume
from aerode.quantities import Basis
from aerode.records.results import Estimate

if TYPE_CHECKING:
    from aerode.measure.mix.composition import Composition
    from aerode.measure.mix.lots import Shelf

__all__ = ["binder_fill", "closest_critical_volume", "voids"]

# The rub-out is the way of ASTM D281; a coarse scale does for carbons, which take a lot of oil.
OPEN_ENOUGH = 2.0
"""PVC/CPVC that a gas-breathing layer wants; rule of thumb, judgement, no source."""
LITTLE = 0.05
"""Part of the voids filled by binder below which powder may rub off; rule of thumb, judgement, no source."""
_OIL_TEST = (
    "rub linseed oil drop by drop into 2 g of each powder until it just makes one stiff putty, "
    "weigh the oil and enter it"
)


def lacking(composition: Composition) -> str:
    """What is missing for the balance, and what to do; "" if nothing is."""
    missing = composition.missing
    if "powder" in missing:
        return "there is no powder in it: a film of binder alone"
    if "density" in missing:
        return (
            "no density known for "
            + ", ".join(missing["density"])
            + "; enter it from the data sheet"
        )
    return ""


def binder_fill(composition: Composition) -> str:
    """Give in words how the binder stands to the voids between the grains.

    Parameters
    ----------
    composition : Composition
        Of the dry mix.

    Returns
    -------
    str
        What it means for the maker first: little binder, enough, a lot, too much, or what is missing to
        tell; then the figure. Two standard uncertainties decide.
    """
    why = lacking(composition)
    if why:
        return f"cannot tell: {why}"
    ratio, spread = composition.value("fill"), composition.uncertainty("fill")
    figure = (
        f"powder by volume {ratio:.2f} ± {spread:.2f} times where binder just fills the voids; to breathe, "
        f"{OPEN_ENOUGH:g} or more"
    )
    return f"{_for_the_maker(composition, ratio - 2.0 * spread, ratio + 2.0 * spread)} ({figure})"


def _for_the_maker(composition: Composition, low: float, high: float) -> str:
    """What the balance means for the coat; the 95 % interval of the ratio decides."""
    if low > OPEN_ENOUGH:
        if _filled(composition) < LITTLE:
            return "little binder, the powder may rub off: try a dry corner with a finger. The voids stay open"
        return "enough binder, and room for air: the voids stay open"
    if low > 1.0 and high < OPEN_ENOUGH:
        return "a lot of binder: some voids stay open, fewer than a breathing layer wants"
    if low > 1.0:
        return "enough binder: some voids stay open, whether enough for air to get through cannot be told"
    if high < 1.0:
        return (
            "too much binder, it smothers the powder: it fills every void, and no air gets through"
        )
    return (
        "perhaps too much binder: it is too near to where it fills every void to tell whether air gets "
        f"through. To know it, {_OIL_TEST}"
    )


def _filled(composition: Composition) -> float:
    """The part of the voids between the grains that the binder fills [1]."""
    pigment, critical = composition.value("pigment"), composition.value("critical")
    return (1.0 / pigment - 1.0) / (1.0 / critical - 1.0)


def voids(composition: Composition) -> Estimate:
    """Give the porosity before pressing that the balance leaves.

    Parameters
    ----------
    composition : Composition
        Of the dry mix.

    Returns
    -------
    Estimate
        Never below 0; where 0 lies within two standard uncertainties, as a 95 % interval. Never
        called measured.
    """
    meaning = "void share before pressing, from the balance of binder and voids; an upper estimate"
    why = lacking(composition)
    if why:
        return Estimate(value=None, unit="", identifiable=False, reason=why, meaning=meaning)
    value, spread = composition.value("voids"), composition.uncertainty("voids")
    found = composition.carried.bases[composition.places[("voids",)]]
    basis = Basis.ASSUMED if found is Basis.ASSUMED else Basis.PREDICTED
    if abs(value) > 2.0 * spread:
        clipped = max(value, 0.0)
        return Estimate(
            value=clipped, unit="", standard_uncertainty=spread if clipped > 0 else 0.0,
            meaning=meaning, basis=basis,
        )  # fmt: skip
    # normal quantile, numerical
    low, high = max(0.0, value - 1.96 * spread), min(1.0, max(0.0, value + 1.96 * spread))
    return Estimate(
        value=max(value, 0.0), unit="", interval_95=(low, high), meaning=meaning, basis=basis
    )


def closest_critical_volume(composition: Composition, shelf: Shelf) -> float | None:
    """Give the highest critical pigment volume that grains of these sizes could reach.

    Parameters
    ----------
    composition : Composition
        With a critical pigment volume.
    shelf : Shelf
        The lots with their largest grains.

    Returns
    -------
    float, optional
        By perfect filling from coarse to fine; None for one powder, or where a grain size or
        something else is not known [1].
    """
    if ("critical",) not in composition.places or len(composition.grains) < 2:
        return None
    sized: list[tuple[float, str, str]] = []
    for part in composition.grains:
        size = shelf.powders[part.of].largest_grain
        if size is None:
            return None
        sized.append((-size.value, part.of, part.key))
    sized.sort()
    volumes = [composition.value("volume", key) for _, _, key in sized]
    whole = sum(volumes)
    packed = [max(1.0 + 1e-9, composition.value("packed", of)) for _, of, _ in sized]  # numerical
    return 1.0 / closest_specific_volume([v / whole for v in volumes], packed)
