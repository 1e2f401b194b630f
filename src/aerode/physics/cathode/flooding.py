"""A cathode that slowly fills with liquid: saturation in time, and the properties that follow."""

from __future__ import annotations

import math
from dataclasses import replace

from aerode.errors import RangeError
from aerode.physics.cathode.parameters import CathodeParameters

__all__ = ["saturation_at", "with_saturation"]


def saturation_at(time: float, start: float, end: float, settling_time: float) -> float:
    """Give the share of the pores that liquid fills after a time.

    Parameters
    ----------
    time : float
        Since the start, not negative [s].
    start, end : float
        Saturation at the start and after a very long time, 0 to 1 [1].
    settling_time : float
        Time constant; hours to weeks, fitted from repeated curves, never from theory [s].

    Returns
    -------
    float
        end − (end − start) e^{−time/settling_time} [1].

    Raises
    ------
    RangeError
        If a value is not possible.

    Notes
    -----
    Empirical; common practice, no source. It says nothing about when a drop breaks through.

    Examples
    --------
    >>> round(saturation_at(86400.0, 0.3, 0.9, 86400.0), 4)
    0.6793
    """
    if not (time >= 0.0 and 0.0 <= start <= 1.0 and 0.0 <= end <= 1.0 and settling_time > 0.0):
        raise RangeError(
            "a value is not possible",
            where="saturation_at",
            allowed="time not negative, saturations 0 to 1, settling time more than 0",
        )
    return end - (end - start) * math.exp(-time / settling_time)


def with_saturation(
    parameters: CathodeParameters,
    before: float,
    after: float,
    *,
    gas_exponent: float = 2.0,
    liquid_exponent: float = 1.5,
) -> CathodeParameters:
    """Give the same cathode at another saturation of its pores.

    Parameters
    ----------
    parameters : CathodeParameters
        A cathode without sublayers whose properties hold at `before`.
    before, after : float
        Saturations, more than 0 and less than 1 [1].
    gas_exponent : float
        Power of the open share in the gas diffusivity, 1.5 to 3 [1].
    liquid_exponent : float
        Power of the filled share in the ionic conductivity [1].

    Returns
    -------
    CathodeParameters
        Gas diffusivity and ionic conductivity scaled; everything else as it was.

    Raises
    ------
    RangeError
        If a saturation is not inside 0 to 1 or the cathode has sublayers.

    Notes
    -----
    D ∝ (1 − s)^m, κ ∝ s^1.5: Bruggeman (1935), Ann. Phys. 416:636 for the liquid; the exponent of
    the gas is common practice, no source. Wet area and film are left alone, though they change as
    well; for a full pore space use `flooded`.

    Examples
    --------
    >>> base = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.025,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.212,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> round(with_saturation(base, 0.5, 0.75).gas_diffusivity * 1e6, 2)
    0.5
    """
    if parameters.sublayers or not (0.0 < before < 1.0 and 0.0 < after < 1.0):
        raise RangeError(
            "no such saturation, or a cathode with sublayers",
            where="with_saturation",
            allowed="saturations between 0 and 1, a uniform cathode",
        )
    gas = ((1.0 - after) / (1.0 - before)) ** gas_exponent
    liquid = (after / before) ** liquid_exponent
    return replace(
        parameters,
        gas_diffusivity=parameters.gas_diffusivity * gas,
        ionic_conductivity=parameters.ionic_conductivity * liquid,
    )
