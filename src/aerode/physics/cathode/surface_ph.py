"""How alkaline the electrolyte becomes at the cathode, and what that costs.

Every electron of oxygen reduction leaves one hydroxide. In strong alkali nobody notices; in salt
water the face of the cathode turns strongly alkaline within a minute and the equilibrium potential
falls. Sea water holds back: its magnesium takes the hydroxide and settles as a solid in the pores.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerode.errors import RangeError
from aerode.physics.constants import FARADAY, GAS_CONSTANT

__all__ = ["SurfaceHydroxide", "magnesium_capacity", "scale_growth", "surface_hydroxide"]


@dataclass(frozen=True, slots=True)
class SurfaceHydroxide:
    """The electrolyte at the face of a running cathode.

    Parameters
    ----------
    hydroxide : float
        Hydroxide at the face [mol/m³].
    potential_fall : float
        How far the equilibrium potential of oxygen has fallen against the bulk [V].
    precipitating : float
        Share of the hydroxide that magnesium takes as a solid [1].

    Examples
    --------
    >>> SurfaceHydroxide(20.0, 0.31, 0.0).potential_fall
    0.31
    """

    hydroxide: float
    potential_fall: float
    precipitating: float


def magnesium_capacity(magnesium: float, diffusivity: float, distance: float) -> float:
    """Give the current density up to which arriving magnesium can take all the hydroxide.

    Parameters
    ----------
    magnesium : float
        Dissolved magnesium in the bulk [mol/m³].
    diffusivity : float
        Of magnesium in the still liquid [m²/s].
    distance : float
        Thickness of the still liquid in front of the cathode [m].

    Returns
    -------
    float
        2F D c/distance [A/m²].

    Notes
    -----
    Mg²⁺ + 2 OH⁻ → Mg(OH)₂, Fick's first law. An upper bound: not all that arrives need settle.

    Examples
    --------
    >>> round(0.1 * magnesium_capacity(53.0, 0.706e-9, 1e-3), 2)  # mA/cm²
    0.72
    """
    return 2.0 * FARADAY * diffusivity * magnesium / distance


def surface_hydroxide(
    current_density: float,
    distance: float,
    bulk_hydroxide: float,
    hydroxide_diffusivity: float,
    *,
    magnesium: float = 0.0,
    magnesium_diffusivity: float = 0.0,
    solubility_product: float = 0.0,
    temperature: float = 298.15,  # by definition: 25 °C
) -> SurfaceHydroxide:
    """Give the hydroxide at the face of a cathode in electrolyte that hardly buffers.

    Parameters
    ----------
    current_density : float
        Per geometric area, not negative [A/m²].
    distance : float
        Thickness of the still liquid in front of the cathode [m].
    bulk_hydroxide : float
        Hydroxide in the bulk, more than zero [mol/m³].
    hydroxide_diffusivity : float
        Of hydroxide in the still liquid [m²/s].
    magnesium, magnesium_diffusivity, solubility_product : float
        Of sea water: dissolved magnesium [mol/m³], its diffusivity [m²/s], and [Mg²⁺][OH⁻]² at
        saturation with what settles [mol³/m⁹]; all zero for plain salt water.
    temperature : float
        Of the electrolyte [K].

    Returns
    -------
    SurfaceHydroxide
        Concentration, fall of the equilibrium potential, share that settles.

    Raises
    ------
    RangeError
        If a value is not possible, or magnesium is given without its other two values.

    Notes
    -----
    Plain: c_s = c_b + I·distance/(F D). With magnesium: below the current it can take, the face is
    saturated, c_s = √(K/[Mg]_s) with [Mg]_s = [Mg]_b(1 − I/I_Mg), or less where plain diffusion
    gives less; above it only the excess counts, and the larger of the two holds.
    E falls by (RT/F) ln(c_s/c_b) (Nernst, four electrons with four hydroxides). Steady state,
    diffusion alone; carbonate and boric acid are left out, which overstates the rise in water that
    stands in air. Not for strong alkali, where c_b is no trace and activity matters.

    Examples
    --------
    >>> face = surface_hydroxide(10.0, 1e-3, 1e-4, 5.3e-9)  # 1 mA/cm² in salt water of pH 7
    >>> round(face.hydroxide, 1), round(face.potential_fall, 2)
    (19.6, 0.31)
    """
    _check(current_density, distance, bulk_hydroxide, hydroxide_diffusivity, temperature)
    sea = (magnesium, magnesium_diffusivity, solubility_product)
    if any(value != 0.0 for value in sea) and not all(value > 0.0 for value in sea):
        raise RangeError(
            "magnesium needs its concentration, diffusivity and solubility product",
            where="magnesium",
            allowed="all three more than zero, or none",
        )
    made = current_density * distance / (FARADAY * hydroxide_diffusivity)
    plain = bulk_hydroxide + made
    face, taken = plain, 0.0
    if magnesium > 0.0:
        capacity = magnesium_capacity(magnesium, magnesium_diffusivity, distance)
        face, taken = _buffered(
            plain, bulk_hydroxide, made, current_density / capacity, solubility_product / magnesium
        )
    fall = GAS_CONSTANT * temperature / FARADAY * math.log(face / bulk_hydroxide)
    return SurfaceHydroxide(face, fall, taken)


def _check(current: float, distance: float, bulk: float, diffusivity: float, kelvin: float) -> None:
    finite = all(math.isfinite(v) for v in (current, distance, bulk, diffusivity, kelvin))
    if not finite or current < 0.0 or min(distance, bulk, diffusivity, kelvin) <= 0.0:
        raise RangeError(
            "a value is not possible",
            where="surface_hydroxide",
            allowed="current not negative, all others more than 0, finite",
        )


def _buffered(
    plain: float, bulk: float, made: float, load: float, square: float
) -> tuple[float, float]:
    """Hydroxide at the face and the share that settles; `load` is the current over the capacity.

    Balance at the face: what is made leaves as hydroxide, or settles with arriving magnesium of
    which `m` is left: c = c_b + made·(1 − t), t·load = 1 − m, c² m = square. The rising left side
    and the falling right side of c² m = square cross once.
    """
    if plain**2 <= square:
        return plain, 0.0
    low, high = max(0.0, 1.0 - 1.0 / load) if load > 0.0 else 0.0, 1.0
    # unknown: the share that leaves as hydroxide, from what magnesium cannot take to all of it
    for _ in range(200):  # numerical
        middle = 0.5 * (low + high)
        hydroxide = bulk + made * middle
        left = 1.0 - load * (1.0 - middle)
        low, high = (low, middle) if hydroxide**2 * left > square else (middle, high)
    share = 0.5 * (low + high)
    return bulk + made * share, 1.0 - share


def scale_growth(
    current_density: float, share: float, molar_volume: float, solid_share: float = 1.0
) -> float:
    """Give how fast magnesium hydroxide grows on or in the face.

    Parameters
    ----------
    current_density : float
        Per geometric area [A/m²].
    share : float
        Share of the hydroxide that settles, from `surface_hydroxide` [1].
    molar_volume : float
        Of the dense solid [m³/mol].
    solid_share : float
        Solid volume per volume of the grown layer, 1 for a dense one [1].

    Returns
    -------
    float
        Thickness per time [m/s].

    Notes
    -----
    Two hydroxides per formula: I·share·V/(2F·solid_share). An upper bound for a dense film, because
    part of the solid drifts off.

    Examples
    --------
    >>> round(scale_growth(7.2, 1.0, 24.6e-6) * 3600 * 1e6, 1)  # µm an hour at 0.72 mA/cm²
    3.3
    """
    return current_density * share * molar_volume / (2.0 * FARADAY * solid_share)
