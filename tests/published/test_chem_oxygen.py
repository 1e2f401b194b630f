"""Dissolved oxygen against TEOS-10 software, a European standard and two papers.

Sources: gsw 3.6 O2sol_SP_pt (computed with that library: verified) and its documented check value;
EN 25814 table of solubilities (read: verified); Davis, Horvath and Tobias 1967, Electrochim. Acta 12, 287
and Han and Bartels 1996, J. Phys. Chem. 100, 5597 (abstracts read: verified).
"""

from __future__ import annotations

import pytest

from aerode.physics.oxygen import solubility_garcia_gordon
from aerode.properties import lookup, oxygen_diffusivity, oxygen_solubility, solution
from aerode.reference import published

MOLAR_MASS_O2 = 31.998
GSW = {
    0: ((5, 399.09), (10, 352.84), (15, 315.39), (20, 284.63), (25, 258.97), (30, 237.22), (40, 201.93)),
    35: ((5, 307.35), (10, 274.60), (15, 247.78), (20, 225.52), (25, 206.77), (30, 190.72), (40, 164.29)),
}  # fmt: skip


def per_kilogram(celsius: float, salinity: float) -> float:
    """Oxygen in umol/kg from the equation on file."""
    row = published("oxygen", "oxygen_solubility", equation="Garcia-Gordon")
    found = solubility_garcia_gordon(273.15 + celsius, salinity, row.values, scale_ratio=1.00024)
    return float(found) * 1e6


@pytest.mark.parametrize(
    ("salinity", "celsius", "expected"),
    [(s, t, c) for s, pairs in GSW.items() for t, c in pairs],
)
def test_water_and_sea_water_against_gsw(salinity: float, celsius: float, expected: float) -> None:
    """To the two decimals of umol/kg that were noted."""
    assert per_kilogram(celsius, salinity) == pytest.approx(expected, abs=0.006)


def test_the_check_value_of_teos_10() -> None:
    """194.68 umol/kg at salinity 34.7118 and 28.8099 degC, the vector of the documentation page."""
    assert per_kilogram(28.8099, 34.7118) == pytest.approx(194.68, abs=0.01)


@pytest.mark.parametrize(
    ("celsius", "expected"), [(0, 14.6), (10, 11.3), (20, 9.09), (25, 8.26), (30, 7.56)]
)
def test_fresh_water_against_the_european_standard(celsius: float, expected: float) -> None:
    """EN 25814 in mg/L; 0.5 % and half the last digit: it rests on an older set of measurements."""
    water = solution("NaCl", 273.15 + celsius, mass_fraction=0.0)
    found = oxygen_solubility(water).value * MOLAR_MASS_O2

    assert found == pytest.approx(expected, rel=0.005, abs=0.05)


@pytest.mark.parametrize(
    ("celsius", "fall"), [(0, 0.0875), (10, 0.0632), (20, 0.0475), (25, 0.0421), (30, 0.0371)]
)
def test_the_fall_with_salt_against_the_european_standard(celsius: float, fall: float) -> None:
    """35 g/kg of sea salt takes off 35 K mg/L: within 0.1 mg/L, the linear rule of the standard."""
    at = 273.15 + celsius
    fresh = oxygen_solubility(solution("NaCl", at, mass_fraction=0.0)).value
    salty = oxygen_solubility(solution("sea water", at, practical_salinity=35.0)).value

    assert (fresh - salty) * MOLAR_MASS_O2 == pytest.approx(
        35.0 * fall, abs=0.15 + 0.12 * fall * 35
    )


def test_salting_out_by_sodium_chloride_is_like_that_of_sea_salt() -> None:
    """3.5 %: Schumpe gives 0.809 by volume, sea water 0.798 by mass: within 0.02 of each other."""
    fresh = oxygen_solubility(solution("NaCl", 298.15, mass_fraction=0.0)).value
    brine = oxygen_solubility(solution("NaCl", 298.15, mass_fraction=0.035)).value
    sea = oxygen_solubility(solution("sea water", 298.15, practical_salinity=35.0)).value

    assert brine / fresh == pytest.approx(0.809, abs=0.002)
    assert brine / fresh == pytest.approx(sea / fresh, abs=0.02)


@pytest.mark.parametrize(
    ("molarity", "expected"), [(1.0, 177.0), (2.0, 118.0), (4.0, 52.9), (6.0, 23.7)]
)
def test_potassium_hydroxide_against_davis(molarity: float, expected: float) -> None:
    """Two independent sets: Schumpe's ions against the direct measurement in air, umol/L, 6 %."""
    lye = solution("KOH", 298.15, molarity=1000.0 * molarity)

    assert oxygen_solubility(lye).value * 1e3 == pytest.approx(expected, rel=0.06)


@pytest.mark.parametrize(
    ("celsius", "expected"), [(5, 1.141), (15, 1.538), (20, 1.760), (25, 1.998), (30, 2.250), (40, 2.792)]
)  # fmt: skip
def test_diffusivity_in_water(celsius: float, expected: float) -> None:
    """Han and Bartels: the values of their equation in 1e-9 m2/s, worked out by another hand."""
    found = lookup("oxygen", "diffusivity", temperature=273.15 + celsius).value

    assert found * 1e9 == pytest.approx(expected, abs=6e-4)


def test_the_band_in_lye_holds_the_measured_product() -> None:
    """Davis: D mu = 1.3e-12 N at 25 degC, 2 to 4 mol/L; the band given must hold that D."""
    for molarity in (2000.0, 3000.0, 4000.0):
        lye = solution("KOH", 298.15, molarity=molarity)
        viscosity = lookup("KOH", "viscosity", temperature=298.15, molarity=molarity).value
        band = oxygen_diffusivity(lye).quantity.interval_95

        assert band is not None
        assert band[0] <= 1.3e-12 / viscosity <= band[1]


def test_altitude_and_humidity() -> None:
    """Henry: at 84 kPa and the same vapour 0.823 of sea level, dry air 1.032 of moist air at 25 degC."""
    water = solution("NaCl", 298.15, mass_fraction=0.0)
    sea_level = oxygen_solubility(water).value

    assert oxygen_solubility(water, pressure=84000.0).value / sea_level == pytest.approx(
        (84000.0 - 3169.9) / (101325.0 - 3169.9), rel=1e-4
    )
    assert oxygen_solubility(water, water_pressure=0.0).value / sea_level == pytest.approx(
        101325.0 / (101325.0 - 3169.9), rel=1e-4
    )
