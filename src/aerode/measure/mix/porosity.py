"""The porosity of an electrode that exists: from its mass, its area and its thickness."""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import fmean, stdev
from typing import TYPE_CHECKING

from aerode.measure.area import area_from_entry
from aerode.measure.mix.at_odds import at_odds
from aerode.physics.film import film_porosity_uncertainty
from aerode.quantities import Basis, Quantity
from aerode.records.doses import FilmPorosity
from aerode.records.results import Estimate

if TYPE_CHECKING:
    from aerode.measure.mix.composition import Composition
    from aerode.measure.mix.weighing import Scale
    from aerode.records.electrodes import Electrode
    from aerode.records.materials import MeshCard

__all__ = ["film_of"]

# Calipers: limit of error ±0.05 mm on a soft film (common practice, no source).
_CALIPER_LIMIT = 5e-5
_FROM_WET = (
    "dry film per wetted area, reckoned from coats weighed wet and the solids of the mix; a pot that "
    "dried up meanwhile gives more"
)
_MEANING = "void share of the film, from its mass, area and thickness; calipers squash, so low"


def film_of(
    electrode: Electrode,
    composition: Composition,
    scale: Scale,
    *,
    mesh: MeshCard | None = None,
    mesh_density: Quantity | None = None,
) -> FilmPorosity:
    """Give the loading and the porosity of an electrode of this mix, or what is missing for it.

    Parameters
    ----------
    electrode : Electrode
        With a wetted area, a film mass (coated less mesh, as entered for its layers, or reckoned
        from coats weighed wet) and readings of the thickness.
    composition : Composition
        What the mix dries to, with densities.
    scale : Scale
        What the electrode was weighed on.
    mesh : MeshCard, optional
        The collector; its weighed mass per area takes its volume off.
    mesh_density : Quantity, optional
        Density of the wire's metal [kg/m³].

    Returns
    -------
    FilmPorosity
        An estimate without a value names what is missing, or the weights that cannot all be true.

    Raises
    ------
    RangeError
        If the area is not believable.

    Notes
    -----
    ε = 1 − (m/A)·v/(t − m_M/(A ρ_M)), v the dry film's solid volume per mass, by first-order
    propagation with mass, area, v and thickness independent. The coated area is taken to be the
    wetted area.
    """
    solids = composition.value("solids") if ("solids",) in composition.places else None
    odds = at_odds(electrode, solids=solids, net=scale.net_uncertainty)
    mass = None if odds else _film_mass(electrode, scale)
    reckoned = None if mass or odds else _from_wet_coats(electrode, composition, scale)
    mass = mass or reckoned
    basis = Basis.MEASURED if reckoned is None else Basis.PREDICTED
    area = None if electrode.wetted_area is None else area_from_entry(electrode.wetted_area)
    why = _lacking({"mass of the dry coat": mass, "wetted area": area})
    if mass is None and electrode.mass is not None and electrode.mesh_mass is not None:
        why = "the mass of the finished piece is not above that of its mesh: look at both again"
    loading = _none("mg/cm^2", "loading", odds or why)
    if mass is None or area is None:
        porosity = _none("", _MEANING, "the mass of the dry coat and the wetted area are needed")
        return FilmPorosity(electrode=electrode.name, porosity=porosity, loading_mg_cm2=loading)
    per_area = mass[0] / area.value
    relative = math.hypot(mass[1] / mass[0], area.relative_uncertainty)
    loading = Estimate(
        value=per_area * 100.0, unit="mg/cm^2", standard_uncertainty=relative * per_area * 100.0,
        meaning="dry film per wetted area" if reckoned is None else _FROM_WET, basis=basis,
    )  # fmt: skip
    porosity = _porosity(electrode, composition, per_area, relative, mesh, mesh_density, area.value)
    if porosity.value is not None and reckoned is not None:
        porosity = replace(porosity, basis=basis)
    return FilmPorosity(electrode=electrode.name, porosity=porosity, loading_mg_cm2=loading)


def _none(unit: str, meaning: str, reason: str) -> Estimate:
    return Estimate(value=None, unit=unit, identifiable=False, meaning=meaning, reason=reason)


def _lacking(known: dict[str, object]) -> str:
    return "not measured: " + ", ".join(what for what, value in known.items() if value is None)


def _film_mass(electrode: Electrode, scale: Scale) -> tuple[float, float] | None:
    """Dry film mass and its standard uncertainty [kg]."""
    if electrode.mass is not None and electrode.mesh_mass is not None:
        film = electrode.mass.value - electrode.mesh_mass.value
        typed = (electrode.mass.standard_uncertainty, electrode.mesh_mass.standard_uncertainty)
        spread = scale.net_uncertainty if None in typed else math.hypot(*(u or 0.0 for u in typed))
        return (film, spread) if film > 0 else None
    entered = [layer.dry_mass for layer in electrode.layers]
    if entered and all(entry is not None for entry in entered):
        known = [entry for entry in entered if entry is not None]
        spread = math.hypot(*(e.standard_uncertainty or scale.net_uncertainty for e in known))
        return sum(e.value for e in known), spread
    coats = [coat.dry_mass for layer in electrode.layers for coat in layer.coats]
    if coats and all(coat is not None for coat in coats):
        total = sum(coat or 0.0 for coat in coats)
        return (total, scale.net_uncertainty * math.sqrt(len(coats))) if total > 0 else None
    return None


def _from_wet_coats(
    electrode: Electrode, composition: Composition, scale: Scale
) -> tuple[float, float] | None:
    """Dry film mass and its standard uncertainty [kg] from coats weighed wet, where all were weighed."""
    coats = [coat for layer in electrode.layers for coat in layer.coats]
    if not coats or ("solids",) not in composition.places:
        return None
    if any(coat.wet_mass is None and coat.dry_mass is None for coat in coats):
        return None
    wet = [coat.wet_mass for coat in coats if coat.dry_mass is None and coat.wet_mass is not None]
    dry = [coat.dry_mass for coat in coats if coat.dry_mass is not None]
    solids, spread = composition.value("solids"), composition.uncertainty("solids")
    total = sum(wet) * solids + sum(dry)
    weighing = scale.net_uncertainty * math.sqrt(len(wet) * solids**2 + len(dry))
    return (total, math.hypot(weighing, sum(wet) * spread)) if total > 0 else None


def _porosity(
    electrode: Electrode, composition: Composition, per_area: float, relative: float,
    mesh: MeshCard | None, mesh_density: Quantity | None, area: float,
) -> Estimate:  # fmt: skip
    if ("specific volume",) not in composition.places:
        names = ", ".join(composition.missing.get("density", ()))
        return _none("", _MEANING, f"no density known for {names}")
    if not electrode.thickness:
        return _none("", _MEANING, "thickness not measured; read it at five places")
    wire = _wire_thickness(electrode, mesh, mesh_density, area)
    if wire is None:
        return _none(
            "", _MEANING,
            "the mesh's mass per area or its metal's density is not known; weigh a bare piece",
        )  # fmt: skip
    readings = electrode.thickness
    thickness = fmean(readings)
    chance = stdev(readings) / math.sqrt(len(readings)) if len(readings) > 1 else 0.0
    spread = math.hypot(chance, _CALIPER_LIMIT / math.sqrt(3.0))
    room = thickness - wire
    specific = composition.value("specific volume")
    solid = per_area * specific
    porosity = 1.0 - solid / room if room > 0 else -1.0
    if not 0.0 <= porosity <= 0.95:  # judgement
        return _none(
            "", _MEANING,
            "mass, area and thickness do not fit together (no film has such a porosity); look for a "
            "slip of units, or a thickness read at the edge",
        )  # fmt: skip
    solids = math.hypot(relative, composition.uncertainty("specific volume") / specific)
    basis = composition.carried.bases[composition.places[("specific volume",)]]
    return Estimate(
        value=porosity, unit="", meaning=_MEANING,
        standard_uncertainty=film_porosity_uncertainty(porosity, room, spread, solids),
        basis=Basis.ASSUMED if basis is Basis.ASSUMED else Basis.MEASURED,
    )  # fmt: skip


def _wire_thickness(
    electrode: Electrode, mesh: MeshCard | None, density: Quantity | None, area: float
) -> float | None:
    """Thickness of the mesh hammered flat [m]; 0 where the electrode has none."""
    if not electrode.mesh and electrode.mesh_mass is None:
        return 0.0
    if density is None or density.value is None:
        return None
    if mesh is not None and mesh.mass_per_area is not None:
        return mesh.mass_per_area.value / density.value
    if electrode.mesh_mass is not None:
        return electrode.mesh_mass.value / area / density.value
    return None
