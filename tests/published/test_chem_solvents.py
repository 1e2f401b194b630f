"""Solvents: vapour pressure, boiling, density and heat of evaporation against each other's sources.

Sources: Poling, Prausnitz and O'Connell 2001, appendix A (Antoine); CRC Handbook, physical constants of organic
compounds and enthalpy of vaporization at 298 K; Perry's Handbook 8th ed., table 2-32. All as tabulated in the
open libraries chemicals 1.5.2 and thermo 0.6.1 (verified). Vapour pressures at 25 degC: thermo 0.6.1.
"""

from __future__ import annotations

import pytest

from aerode.physics.vapour_pressure import antoine_enthalpy
from aerode.properties import lookup
from aerode.reference import published

P25 = {
    "toluene": (3789, 3799), "ethanol": (7876, 7885), "acetone": (30779, 30727), "ethyl acetate": (12614, 12614),
    "2-propanol": (6021, 6020), "o-xylene": (879, 896), "m-xylene": (1120, 1117), "p-xylene": (1167, 1178),
    "2-butanone": (12034, 12091),
}  # fmt: skip
BOILING = {
    "toluene": 110.6, "ethanol": 78.24, "acetone": 56.08, "ethyl acetate": 77.1, "2-propanol": 82.2, "o-xylene": 144.4,
    "m-xylene": 139.1, "p-xylene": 138.3, "2-butanone": 79.6,
}  # fmt: skip
HEATS = {
    "toluene": 38.01, "ethanol": 42.32, "acetone": 30.99, "ethyl acetate": 35.60, "2-propanol": 45.39,
    "o-xylene": 43.43, "m-xylene": 42.65, "p-xylene": 42.40, "2-butanone": 34.79,
}  # fmt: skip
DENSITIES = {
    # kg/m3 at degC, CRC
    "toluene": (862.3, 25), "ethanol": (789.3, 20), "acetone": (784.5, 25), "ethyl acetate": (900.3, 20),
    "2-propanol": (780.9, 25), "o-xylene": (875.5, 25), "m-xylene": (859.8, 25), "p-xylene": (856.5, 25),
    "2-butanone": (799.9, 25),
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(P25))
def test_vapour_pressure_at_25_degrees(name: str) -> None:
    """The Antoine value to the pascal noted, and within 2 % of an independent equation."""
    antoine, other = P25[name]
    found = lookup(name, "vapour_pressure", temperature=298.15).value

    assert found == pytest.approx(antoine, abs=0.6)
    assert found == pytest.approx(other, rel=0.02)


@pytest.mark.parametrize("name", sorted(BOILING))
def test_antoine_boils_where_the_handbook_says(name: str) -> None:
    """One atmosphere at the boiling temperature within 1 % (0.3 K)."""
    found = lookup(name, "vapour_pressure", temperature=BOILING[name] + 273.15).value

    assert found == pytest.approx(101325.0, rel=0.01)


@pytest.mark.parametrize("name", sorted(HEATS))
def test_heat_of_evaporation_and_the_slope_of_antoine(name: str) -> None:
    """The handbook heat is on file, and the slope of Antoine gives it within 3 %."""
    row = published(name, "vapour_pressure", equation="Antoine")
    slope = float(antoine_enthalpy(298.15, *row.values[1:]))

    assert lookup(name, "enthalpy_of_vaporization").value == HEATS[name] * 1000.0
    assert slope == pytest.approx(HEATS[name] * 1000.0, rel=0.03)


@pytest.mark.parametrize("name", sorted(DENSITIES))
def test_density_equation_meets_the_handbook(name: str) -> None:
    """Perry's equation within 0.7 % of the handbook at its temperature."""
    expected, celsius = DENSITIES[name]
    found = lookup(name, "density", temperature=273.15 + celsius).value

    assert found == pytest.approx(expected, rel=0.007)
