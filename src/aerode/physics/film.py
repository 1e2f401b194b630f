"""The dry film on its mesh: porosity, thickness and the wet coat it came from, by weighing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "dry_loading_of_wet_coat",
    "film_porosity",
    "film_porosity_uncertainty",
    "film_thickness",
    "grain_split",
    "mesh_open_area",
    "slurry_density",
    "solid_thickness",
]

LEAST_POROSITY, MOST_POROSITY = 0.0, 0.95  # judgement
"""A film outside these is a slip of units or thickness, not a film."""


def _above_zero(value: float, name: str, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise RangeError(
            f"{value:g} is no {name}", where=name, allowed=f"above 0 {unit}".strip(),
            next_step="look at the number and its unit again",
        )  # fmt: skip


def _not_negative(value: float, name: str, unit: str) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise RangeError(
            f"{value:g} is no {name}", where=name, allowed=f"0 or more {unit}".strip(),
            next_step="look at the number and its unit again",
        )  # fmt: skip


def solid_thickness(loadings: Sequence[float], densities: Sequence[float]) -> float:
    """Give the thickness that the solids of a film would have without any void.

    Parameters
    ----------
    loadings : sequence of float
        Dry mass of each component per area, not negative [kg/m²].
    densities : sequence of float
        True density of each, in the same order, above 0 [kg/m³].

    Returns
    -------
    float
        Σ m_i/ρ_i [m].

    Raises
    ------
    RangeError
        If there are no components, the two differ in length, or a number is out of range.

    Examples
    --------
    >>> round(solid_thickness([0.2, 0.05], [2000.0, 1100.0]) * 1e6, 2)
    145.45
    """
    if len(loadings) != len(densities) or not loadings:
        raise RangeError(
            "each loading needs its density", where="loadings",
            allowed="two lists of the same length", next_step="name a density for each component",
        )  # fmt: skip
    total = 0.0
    for loading, density in zip(loadings, densities, strict=True):
        _not_negative(loading, "loading", "kg/m²")
        _above_zero(density, "density", "kg/m³")
        total += loading / density
    return total


def film_porosity(
    loadings: Sequence[float],
    densities: Sequence[float],
    thickness: float,
    *,
    mesh_loading: float = 0.0,
    mesh_density: float = 1.0,
) -> float:
    """Give the share of void in a film whose mass and thickness were measured.

    Parameters
    ----------
    loadings : sequence of float
        Dry mass of each component per area, without the mesh [kg/m²].
    densities : sequence of float
        True density of each, in the same order [kg/m³].
    thickness : float
        Thickness of film and mesh together [m].
    mesh_loading : float
        Mass of the mesh per area, weighed, 0 for a film without one [kg/m²].
    mesh_density : float
        Density of the wire's metal [kg/m³].

    Returns
    -------
    float
        ε = 1 − Σ(m_i/ρ_i)/(t − m_M/ρ_M), the mesh counted as solid that is not film [1].

    Raises
    ------
    RangeError
        If the mesh alone is thicker than the piece, or ε lies outside 0 to 0.95: a slip of units,
        thickness or area, and no film.

    Notes
    -----
    A balance of volumes; no model. Calipers squash a soft film, so ε comes out low. With porous
    grains and their true (helium) density, ε counts the pores within the grains too; see
    `grain_split`.

    Examples
    --------
    >>> round(film_porosity([0.2, 0.05], [2000.0, 1100.0], 4e-4), 4)
    0.6364
    """
    left = _room_for_film(thickness, mesh_loading, mesh_density)
    porosity = 1.0 - solid_thickness(loadings, densities) / left
    if not LEAST_POROSITY <= porosity <= MOST_POROSITY:
        raise RangeError(
            f"mass and thickness give a porosity of {porosity:.2f}, which no film has",
            where="porosity",
            allowed=f"{LEAST_POROSITY:g} to {MOST_POROSITY:g}",
            next_step="look again at the thickness, the area and the mass, and their units",
        )
    return porosity


def _room_for_film(thickness: float, mesh_loading: float, mesh_density: float) -> float:
    _above_zero(thickness, "thickness", "m")
    _not_negative(mesh_loading, "mesh loading", "kg/m²")
    _above_zero(mesh_density, "mesh density", "kg/m³")
    left = thickness - mesh_loading / mesh_density
    if left <= 0:
        raise RangeError(
            "the mesh alone, hammered flat, is thicker than the piece",
            where="thickness",
            allowed=f"more than {mesh_loading / mesh_density:.3g} m",
            next_step="measure the thickness again, away from the edge",
        )
    return left


def film_porosity_uncertainty(
    porosity: float,
    film_thickness_alone: float,
    thickness_uncertainty: float,
    relative_solid_uncertainty: float,
) -> float:
    """Give the standard uncertainty of a porosity found from mass and thickness.

    Parameters
    ----------
    porosity : float
        ε from `film_porosity`, 0 to 1 [1].
    film_thickness_alone : float
        Thickness less the mesh's solid volume per area, t − m_M/ρ_M, above 0 [m].
    thickness_uncertainty : float
        Standard uncertainty of the thickness, not negative [m].
    relative_solid_uncertainty : float
        Standard uncertainty of Σ m_i/ρ_i over its value: mass, area and densities together [1].

    Returns
    -------
    float
        u(ε) = (1 − ε)·√[(u_t/t_eff)² + u_solid²] [1].

    Raises
    ------
    RangeError
        If a number lies outside its range.

    Notes
    -----
    First order, GUM (JCGM 100:2008) 5.1.2; thickness and mass taken as independent.

    Examples
    --------
    >>> round(film_porosity_uncertainty(0.6, 4e-4, 2e-5, 0.03), 4)
    0.0233
    """
    _not_negative(porosity, "porosity", "")
    _above_zero(film_thickness_alone, "film thickness", "m")
    _not_negative(thickness_uncertainty, "thickness uncertainty", "m")
    _not_negative(relative_solid_uncertainty, "relative uncertainty", "")
    relative = math.hypot(thickness_uncertainty / film_thickness_alone, relative_solid_uncertainty)
    return (1.0 - porosity) * relative


def film_thickness(loadings: Sequence[float], densities: Sequence[float], porosity: float) -> float:
    """Give the thickness of a dry film from what is on it and its share of void.

    Parameters
    ----------
    loadings : sequence of float
        Dry mass of each component per area [kg/m²].
    densities : sequence of float
        True density of each, in the same order [kg/m³].
    porosity : float
        Share of void, 0 to below 1 [1].

    Returns
    -------
    float
        t = Σ(m_i/ρ_i)/(1 − ε) [m].

    Raises
    ------
    RangeError
        If a number lies outside its range.

    Notes
    -----
    The inverse of `film_porosity` for a film without mesh.

    Examples
    --------
    >>> round(film_thickness([0.2], [2000.0], 0.5) * 1e6, 3)
    200.0
    """
    if not 0.0 <= porosity < 1.0:
        raise RangeError(f"{porosity:g} is no porosity", where="porosity", allowed="0 to below 1")
    return solid_thickness(loadings, densities) / (1.0 - porosity)


def slurry_density(masses: Sequence[float], densities: Sequence[float]) -> float:
    """Give the density of a wet mix whose parts keep their volumes.

    Parameters
    ----------
    masses : sequence of float
        Mass of each part, solids and liquids, not negative [kg].
    densities : sequence of float
        Density of each, in the same order, above 0 [kg/m³].

    Returns
    -------
    float
        Σm/Σ(m/ρ) [kg/m³].

    Raises
    ------
    RangeError
        If a number lies outside its range or all masses are 0.

    Notes
    -----
    Ideal mixing, no trapped air: a whisked slurry is lighter. Dissolved polymer and alcohol with
    water shrink by up to a few per cent (common practice, no source).

    Examples
    --------
    >>> round(slurry_density([0.02, 0.08], [2000.0, 800.0]), 1)
    909.1
    """
    volume = solid_thickness(masses, densities)  # the same sum, of masses in place of loadings
    _above_zero(volume, "volume", "m³")
    return sum(masses) / volume


def dry_loading_of_wet_coat(
    wet_thickness: float, density: float, solids_fraction: float, left_on_film: float = 1.0
) -> float:
    """Give the dry mass per area that a wet coat leaves.

    Parameters
    ----------
    wet_thickness : float
        Gap of the blade, or wet thickness, above 0 [m].
    density : float
        Density of the slurry, above 0 [kg/m³].
    solids_fraction : float
        Dry mass over wet mass, above 0, at most 1 [1].
    left_on_film : float
        Share of the gap that stays as wet coat, above 0, at most 1; about 0.5 to 0.7 behind a
        blade (status: unverified, from memory), 1 for a wet thickness that was itself measured [1].

    Returns
    -------
    float
        Dry loading [kg/m²].

    Raises
    ------
    RangeError
        If a number lies outside its range.

    Examples
    --------
    >>> round(dry_loading_of_wet_coat(5e-4, 950.0, 0.2, 0.6) * 100, 2)  # mg/cm²
    5.7
    """
    _above_zero(wet_thickness, "wet thickness", "m")
    _above_zero(density, "density", "kg/m³")
    for share, name in ((solids_fraction, "solids fraction"), (left_on_film, "share left")):
        _above_zero(share, name, "")
        if share > 1.0:
            raise RangeError(f"{share:g} is no {name}", where=name, allowed="above 0, at most 1")
    return wet_thickness * density * solids_fraction * left_on_film


def grain_split(
    porosity: float, porous_loading: float, pore_volume: float, thickness: float
) -> tuple[float, float]:
    """Split a film's porosity into voids between the grains and pores within them.

    Parameters
    ----------
    porosity : float
        Whole porosity from `film_porosity` with true densities, 0 to 1 [1].
    porous_loading : float
        Dry mass of the porous powder per area, not negative [kg/m²].
    pore_volume : float
        Pore volume within its grains, not negative [m³/kg].
    thickness : float
        Thickness of the film less the mesh's solids, above 0 [m].

    Returns
    -------
    tuple of float
        `(between, within)`, adding up to `porosity` [1].

    Raises
    ------
    RangeError
        If the pores within the grains alone would exceed the whole.

    Examples
    --------
    >>> between, within = grain_split(0.7, 0.2, 5e-4, 4e-4)
    >>> round(between, 3), round(within, 3)
    (0.45, 0.25)
    """
    _not_negative(porosity, "porosity", "")
    _not_negative(porous_loading, "loading", "kg/m²")
    _not_negative(pore_volume, "pore volume", "m³/kg")
    _above_zero(thickness, "thickness", "m")
    within = porous_loading * pore_volume / thickness
    if within > porosity:
        raise RangeError(
            f"pores within the grains come to {within:.2f}, more than the whole {porosity:.2f}",
            where="pore volume",
            allowed="at most the whole porosity",
            next_step="check the pore volume, the loading and the thickness",
        )
    return porosity - within, within


def mesh_open_area(pitch: float, wire_diameter: float) -> float:
    """Give the open share of a plain square weave, seen from above.

    Parameters
    ----------
    pitch : float
        Distance from wire to wire, centre to centre, above 0 [m].
    wire_diameter : float
        Diameter of the wire, above 0, below the pitch [m].

    Returns
    -------
    float
        ((p − d)/p)² [1].

    Raises
    ------
    RangeError
        If the wire is not thinner than the pitch.

    Notes
    -----
    Plain weave, wires at right angles. It says nothing of the mesh's solid volume: weigh that.

    Examples
    --------
    >>> round(mesh_open_area(1.4e-3, 0.28e-3), 2)
    0.64
    """
    _above_zero(wire_diameter, "wire diameter", "m")
    if not (math.isfinite(pitch) and pitch > wire_diameter):
        raise RangeError(
            "the wire is as thick as the pitch or thicker", where="pitch",
            allowed="more than the wire diameter",
            next_step="the pitch runs from wire centre to wire centre",
        )  # fmt: skip
    return ((pitch - wire_diameter) / pitch) ** 2
