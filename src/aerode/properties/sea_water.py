"""Sea water at the surface: salinity scales, density, conductivity, by practical salinity."""

from __future__ import annotations

from aerode.physics import electrolyte_concentration, water
from aerode.physics.electrolyte_conductivity import concentration_at_conductivity
from aerode.properties.answers import PropertyAnswer, computed_answer, si_value
from aerode.reference import PublishedRow, published

__all__ = [
    "conductivity",
    "density",
    "mass_fraction_from_salinity",
    "practical_salinity",
    "salinity_from_mass_fraction",
]


def _per_salinity() -> float:
    row = published("sea water", "salinity_scale", source="teos_10")
    return si_value(row.value or 0.0, row.unit)


def mass_fraction_from_salinity(salinity: float) -> float:
    """Mass of sea salt over mass of sea water.

    >>> round(mass_fraction_from_salinity(35.0), 6)
    0.035165
    """
    convert = electrolyte_concentration.mass_fraction_from_salinity
    return float(convert(salinity, _per_salinity()))


def salinity_from_mass_fraction(mass_fraction: float) -> float:
    """The practical salinity of sea water from its mass fraction of salt.

    >>> round(salinity_from_mass_fraction(0.03516504), 4)
    35.0
    """
    convert = electrolyte_concentration.salinity_from_mass_fraction
    return float(convert(mass_fraction, _per_salinity()))


def _scale() -> tuple[PublishedRow, PublishedRow]:
    scale = published("sea water", "salinity_scale", equation="PSS-78")
    standard = published(
        "sea water", "conductivity", temperature="15 degC", practical_salinity="35"
    )
    return scale, standard


def practical_salinity(conductivity_reading: float, temperature: float) -> PropertyAnswer:
    """The practical salinity behind a conductivity reading of sea water.

    Parameters
    ----------
    conductivity_reading : float [S/m]
        Conductivity, corrected with the cell constant.
    temperature : float [K]
        Temperature of the sample.

    Returns
    -------
    PropertyAnswer
        Practical salinity scale 1978 at atmospheric pressure; not for brine.

    Examples
    --------
    >>> round(practical_salinity(5.3071, 298.15).value, 2)
    35.0
    """
    scale, standard = _scale()
    *coefficients, ratio = scale.values
    value = electrolyte_concentration.practical_salinity(
        conductivity_reading,
        temperature,
        coefficients,
        standard_conductivity=si_value(standard.value or 0.0, standard.unit),
        scale_ratio=ratio,
    )
    state = {"temperature": temperature, "practical_salinity": value}
    return computed_answer(value, "", [scale, standard], state)


def conductivity(temperature: float, salinity: float) -> PropertyAnswer:
    """The conductivity of sea water.

    Parameters
    ----------
    temperature : float [K]
        Temperature.
    salinity : float
        Practical salinity, 2 to 42.

    Returns
    -------
    PropertyAnswer [S/m]
        Inverse of the practical salinity scale.

    Examples
    --------
    >>> round(conductivity(298.15, 35.0).value, 3)
    5.307
    """
    scale, standard = _scale()
    *coefficients, ratio = scale.values
    standard_value = si_value(standard.value or 0.0, standard.unit)

    def salinity_at(reading: float) -> float:
        return electrolyte_concentration.practical_salinity(
            reading,
            temperature,
            coefficients,
            standard_conductivity=standard_value,
            scale_ratio=ratio,
        )

    value = concentration_at_conductivity(salinity, salinity_at, 0.1, 12.0)
    state = {"temperature": temperature, "practical_salinity": salinity}
    # the scale's uncertainty in salinity, through d(ln kappa)/d(ln S) of about 1
    spread = value * (scale.standard_uncertainty() or 0.0) / salinity
    return computed_answer(value, "S/m", [scale, standard], state, standard_uncertainty=spread)


def density(temperature: float, salinity: float) -> PropertyAnswer:
    """The density of sea water at the surface.

    Parameters
    ----------
    temperature : float [K]
        Temperature.
    salinity : float
        Practical salinity, 0 to 42.

    Returns
    -------
    PropertyAnswer [kg/m^3]

    Examples
    --------
    >>> round(density(298.15, 35.0).value, 1)
    1023.3
    """
    row = published("sea water", "density")
    *coefficients, ratio = row.values
    value = float(water.seawater_density(temperature, salinity, coefficients, scale_ratio=ratio))
    state = {"temperature": temperature, "practical_salinity": salinity}
    return computed_answer(value, "kg/m^3", [row], state)
