"""Sea water: conductivity, salinity and density against TEOS-10 software and UNESCO check values.

Sources: gsw 3.6 (C_from_SP, rho_t_exact, t_freezing; computed with that library: verified); UNESCO
Technical Papers in Marine Science 44 (1983), check values of the one-atmosphere density (from memory,
agreeing with gsw to 0.02 kg/m3).
"""

from __future__ import annotations

import pytest

from aerode.properties import (
    conductivity,
    density,
    freezing_temperature,
    practical_salinity,
    sea_water,
    solution,
)


@pytest.mark.parametrize(
    ("salinity", "celsius", "expected"),
    [(35.0, 15, 42.917540), (35.0, 25, 53.071032), (35.0, 5, 33.455376), (40.0, 25, 59.733932), (10.0, 20, 15.338081)],
)  # fmt: skip
def test_conductivity_and_its_inverse_against_gsw(
    salinity: float, celsius: float, expected: float
) -> None:
    """mS/cm to 1e-6 relative, both ways."""
    at = 273.15 + celsius
    water = solution("sea water", at, practical_salinity=salinity)

    assert conductivity(water).value * 10.0 == pytest.approx(expected, rel=1e-6)
    assert practical_salinity(expected / 10.0, at).value == pytest.approx(salinity, abs=1e-5)


@pytest.mark.parametrize(
    ("salinity", "celsius", "unesco"),
    [(0.0, 5.0, 999.96675), (0.0, 25.0, 997.04796), (35.0, 5.0, 1027.67547), (35.0, 25.0, 1023.34306)],
)  # fmt: skip
def test_density_check_values_of_unesco(salinity: float, celsius: float, unesco: float) -> None:
    """To 1e-4 kg/m3, the temperatures being on IPTS-68."""
    found = sea_water.density(273.15 + celsius / 1.00024, salinity).value

    assert found == pytest.approx(unesco, abs=1e-4)


@pytest.mark.parametrize(
    ("salinity", "celsius", "expected"),
    [(35.0, 15, 1025.97646), (35.0, 25, 1023.34406), (35.0, 5, 1027.67605), (40.0, 25, 1027.12526), (10.0, 20, 1005.79400)],
)  # fmt: skip
def test_density_against_gsw(salinity: float, celsius: float, expected: float) -> None:
    """Within 0.03 kg/m3: the older equation of state against TEOS-10."""
    water = solution("sea water", 273.15 + celsius, practical_salinity=salinity)

    assert density(water).value == pytest.approx(expected, abs=0.03)


@pytest.mark.parametrize(
    ("salinity", "expected"), [(10.0, -0.5386), (35.0, -1.9191), (40.0, -2.2073)]
)
def test_freezing_against_gsw(salinity: float, expected: float) -> None:
    """Within 0.01 K, the rounding of the rows on file."""
    water = solution("sea water", 283.15, practical_salinity=salinity)

    assert freezing_temperature(water).value - 273.15 == pytest.approx(expected, abs=0.01)
