"""The dry mass that the scale has told already: a piece whose two weighings agree."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.cautions.heatings import stored_weighings
from aerode.cautions.policy import (
    CONSTANT_WEIGHT_INTERVAL,
    CONSTANT_WEIGHT_PER_AREA,
    CONSTANT_WEIGHT_SHARE,
)
from aerode.measure.mix.at_odds import at_odds
from aerode.physics.heat_gates import Dryness, dry_enough
from aerode.records.marks import Entry

if TYPE_CHECKING:
    from aerode.records.electrodes import Electrode, Layer

__all__ = ["dry_mass_of", "with_dry_weight"]


def with_dry_weight(electrode: Electrode) -> Electrode:
    """The piece with its constant weight as the mass of the whole, where that was not entered.

    Parameters
    ----------
    electrode : Electrode
        With the mass of its mesh, and weighings after its last coat.

    Returns
    -------
    Electrode
        The very same where its mass was entered, its mesh was not weighed, its weight is not constant,
        or several pieces lay on the scale: how much each of them holds is not told then. The
        uncertainty is left to the scale.

    Examples
    --------
    >>> from aerode.records.electrodes import Electrode, Weighing
    >>> pair = (Weighing(mass=6e-4), Weighing(mass=6e-4, after=3600.0))
    >>> piece = Electrode(name="T1", mesh_mass=Entry(value=3.7e-4), weighings=pair)
    >>> with_dry_weight(piece).mass.value
    0.0006
    """
    if electrode.mass is not None or electrode.mesh_mass is None:
        return electrode
    kept = stored_weighings(electrode)
    if kept is None or kept.pieces > 1:
        return electrode
    found, _ = dry_enough(
        kept.first, kept.second, kept.interval, minimum_interval=CONSTANT_WEIGHT_INTERVAL,
        relative_change=CONSTANT_WEIGHT_SHARE, mass_per_area=CONSTANT_WEIGHT_PER_AREA,
        coating=kept.coating, area=kept.area, resolution=kept.resolution,
    )  # fmt: skip
    if found is not Dryness.DRY:
        return electrode
    return replace(electrode, mass=Entry(value=kept.second, how="constant weight"))


def dry_mass_of(electrode: Electrode) -> float | None:
    """Dry mass of all layers of a piece: as entered, of all its coats, or the whole less its mesh.

    Parameters
    ----------
    electrode : Electrode

    Returns
    -------
    float [kg] or None
        None where none of the three was weighed, and where piece, mesh and wet coats cannot all be
        true. A constant weight counts as the whole.

    Examples
    --------
    >>> from aerode.records.electrodes import Electrode
    >>> whole, mesh = Entry(value=6e-4), Entry(value=4e-4)
    >>> round(dry_mass_of(Electrode(name="T1", mass=whole, mesh_mass=mesh)), 9)
    0.0002
    """
    masses = [_layer_mass(layer) for layer in electrode.layers]
    known = [mass for mass in masses if mass is not None]
    if known and len(known) == len(masses):
        return sum(known)
    whole = with_dry_weight(electrode)
    if whole.mass is None or whole.mesh_mass is None or at_odds(whole):
        return None
    return whole.mass.value - whole.mesh_mass.value


def _layer_mass(layer: Layer) -> float | None:
    if layer.dry_mass is not None:
        return layer.dry_mass.value
    known = [coat.dry_mass for coat in layer.coats if coat.dry_mass is not None]
    return sum(known) if known and len(known) == len(layer.coats) else None
