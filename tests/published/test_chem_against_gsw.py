"""Oxygen, conductivity, density and freezing of sea water, point by point, against gsw 3.6.23.

Source, place and how it was read:
gsw 3.6.23 is the TEOS-10 software of the oceanographic commission (development only, installed and
run here: verified). O2sol_SP_pt: Garcia and Gordon 1992/1993 on Benson and Krause; C_from_SP and
SP_from_C: practical salinity scale 1978; rho: the 75-term equation of TEOS-10; t_freezing.
Absolute salinity of standard sea water is taken as SP 35.16504/35 (no local composition anomaly).
"""

from __future__ import annotations

import gsw
import numpy as np
import pytest

from aerode.physics.oxygen import solubility_garcia_gordon
from aerode.properties import (
    conductivity,
    density,
    freezing_temperature,
    oxygen_solubility,
    practical_salinity,
    sea_water,
    solution,
)
from aerode.reference import published

ABSOLUTE = 35.16504 / 35.0  # g/kg per unit of practical salinity, TEOS-10
SALINITIES = np.linspace(0.0, 42.0, 15)
CELSIUS = np.linspace(0.0, 40.0, 21)


def gsw_density(salinity: float, celsius: float) -> float:
    """Density at the surface by TEOS-10 [kg/m^3]."""
    absolute = salinity * ABSOLUTE
    return float(gsw.rho(absolute, gsw.CT_from_t(absolute, celsius, 0.0), 0.0))


def test_oxygen_by_mass_over_the_whole_range() -> None:
    """0 to 40 degC, salinity 0 to 42, 315 points to 1e-12: the same equation, so any gap is a slip."""
    row = published("oxygen", "oxygen_solubility", equation="Garcia-Gordon")
    for salinity in SALINITIES:
        found = [
            float(solubility_garcia_gordon(273.15 + t, salinity, row.values, scale_ratio=1.00024))
            for t in CELSIUS
        ]

        assert 1e6 * np.array(found) == pytest.approx(gsw.O2sol_SP_pt(salinity, CELSIUS), rel=1e-12)


@pytest.mark.parametrize("salinity", [2.0, 10.0, 20.0, 30.0, 35.0, 42.0])
def test_oxygen_by_volume_through_the_look_up(salinity: float) -> None:
    """Per litre it also rests on the density and the vapour pressure over the salt water.

    1 per cent of salt lowers the vapour pressure by half a per cent of 7.4 kPa at 40 degC at most,
    and the densities differ by 0.02 kg/m3: 0.2 %.
    """
    for celsius in CELSIUS:
        water = solution("sea water", 273.15 + celsius, practical_salinity=salinity)
        expected = gsw.O2sol_SP_pt(salinity, celsius) * 1e-6 * gsw_density(salinity, celsius)

        assert oxygen_solubility(water).value == pytest.approx(expected, rel=2e-3)


def test_conductivity_and_salinity_over_the_whole_range() -> None:
    """Salinity 2 to 42, -2 to 35 degC where liquid, both ways: one scale, so 1e-9 relative."""
    for salinity in np.linspace(2.0, 42.0, 11):
        for celsius in np.linspace(0.0, 35.0, 8):
            reading = float(gsw.C_from_SP(salinity, celsius, 0.0)) / 10.0  # mS/cm to S/m
            water = solution("sea water", 273.15 + celsius, practical_salinity=salinity)

            assert conductivity(water).value == pytest.approx(reading, rel=1e-9)
            back = practical_salinity(reading, 273.15 + celsius)
            assert back.value == pytest.approx(salinity, abs=1e-9)
            assert not back.warnings


def test_density_over_the_whole_range() -> None:
    """EOS-80 against TEOS-10, 0 to 40 degC, salinity 0 to 42: within 0.012 kg/m3.

    The two disagree by up to 0.01 kg/m3 by themselves; the limit on file is ten times that.
    """
    gaps = [
        sea_water.density(273.15 + t, s).value - gsw_density(float(s), float(t))
        for s in SALINITIES
        for t in CELSIUS
    ]

    assert np.max(np.abs(gaps)) < 0.012
    stated = density(solution("sea water", 298.15, practical_salinity=35.0)).quantity
    assert np.max(np.abs(gaps)) < (stated.standard_uncertainty or 0.0)


def test_density_and_conductivity_warn_outside() -> None:
    """Beyond 42 or 40 degC the number comes with the range it was left by."""
    brine = solution("sea water", 298.15, practical_salinity=50.0)
    hot = solution("sea water", 323.15, practical_salinity=35.0)

    for answer in (density(brine), conductivity(brine)):
        assert any("practical salinity 50 lies outside" in said for said in answer.warnings)
    for answer in (density(hot), conductivity(hot)):
        assert any("temperature 323.15 K lies outside" in said for said in answer.warnings)


@pytest.mark.parametrize("salinity", [5.0, 10.0, 20.0, 30.0, 35.0, 40.0])
def test_freezing_over_the_range(salinity: float) -> None:
    """Air-saturated, at the surface, within 0.01 K: rows on file have two decimals, interpolated."""
    water = solution("sea water", 283.15, practical_salinity=salinity)
    expected = float(gsw.t_freezing(salinity * ABSOLUTE, 0.0, 1.0))

    assert freezing_temperature(water).value - 273.15 == pytest.approx(expected, abs=0.01)
