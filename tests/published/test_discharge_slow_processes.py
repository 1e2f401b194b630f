"""Drying, carbonation, saturation and the fall of conductivity, against figures worked out by hand.

Inputs and expected:
- water through 5 mm of still air at 25 degC, D = 2.5e-5 m2/s, psat 3169.9 Pa (IAPWS-95): activity 0.98
  into 50 % humidity 19.9 mg/(cm2 h); activity 0.70 into 40 % humidity 12.4 mg/(cm2 h);
- carbon dioxide of 420 ppm through 5 mm, D = 1.6e-5 m2/s, liquid without resistance: 5.5e-5
  mol/(m2 s), at most 9.5e-4 mol of hydroxide per cm2 and day;
- aluminate over hydroxide at saturation with gibbsite: 0.072 at 25 degC, 0.187 at 60 degC;
- conductivity of KOH once all hydroxide is aluminate: 0.44 of the start.
Tolerance: half a unit of the last printed digit.
Source: Fick's law; Wesolowski (1992), Geochim. Cosmochim. Acta: log K 1.143 +- 0.006, dH -22.5 kJ/mol;
limiting molar conductivities K+ 73.5, OH- 198, Al(OH)4- about 45 S cm2/mol (tabulated diffusivities;
the last from memory, status: unverified); diffusivities in air from memory, status: unverified.
How read: abstract (Wesolowski); the rest worked out by hand outside this program.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aerode.physics.discharge import (
    Contents,
    carbonation_rate,
    evaporation_rate,
    saturated_aluminate,
)
from aerode.physics.discharge.chemistry import Process
from aerode.physics.discharge.example import lye_cell
from aerode.physics.discharge.loads import ConstantCurrent
from aerode.physics.discharge.state import Bench

RT = 8.314462618 * 298.15


@pytest.mark.parametrize(("activity", "humidity", "printed"), [(0.98, 0.5, 19.9), (0.7, 0.4, 12.4)])
def test_drying(activity: float, humidity: float, printed: float) -> None:
    """Salt water and strong lye behind 5 mm of still air."""
    rate = evaporation_rate(
        298.15,
        saturation_pressure=3169.9,
        water_activity=activity,
        room_vapour=humidity * 3169.9 / RT,
        transfer=2.5e-5 / 5e-3,
    )
    assert rate * 18.015e-3 * 3600 * 100 == pytest.approx(printed, abs=0.051)


def test_strong_lye_takes_water_from_humid_air() -> None:
    """Above the humidity of its own activity the sign turns."""
    humid = 0.8 * 3169.9 / RT
    rate = evaporation_rate(
        298.15, saturation_pressure=3169.9, water_activity=0.7, room_vapour=humid, transfer=5e-3
    )
    assert rate < 0.0


def test_carbonation() -> None:
    """The most that still air can bring, and never more with a slow liquid."""
    air = {"carbon_dioxide": 420e-6 * 101325.0 / RT, "gas_transfer": 1.6e-5 / 5e-3}
    most = carbonation_rate(4000.0, liquid_per_gas=1e9, rate_constant=10.0, diffusivity=1e-9, **air)
    assert most == pytest.approx(5.5e-5, abs=5.1e-7)
    assert 2.0 * most * 86400.0 * 1e-4 == pytest.approx(9.5e-4, abs=5.1e-6)
    slow = carbonation_rate(4000.0, liquid_per_gas=0.4, rate_constant=10.0, diffusivity=1e-9, **air)
    assert slow < most


@pytest.mark.parametrize(("kelvin", "printed"), [(298.15, 0.072), (333.15, 0.187)])
def test_saturation(kelvin: float, printed: float) -> None:
    """Gibbsite in dilute lye."""
    ratio = saturated_aluminate(
        1.0,
        kelvin,
        log_constant=1.143,
        enthalpy=-22500.0,
        reference_temperature=298.15,
        activity_ratio=1.0,
    )
    assert ratio == pytest.approx(printed, abs=5.1e-4)


def test_conductivity_of_spent_lye() -> None:
    """All hydroxide turned to aluminate at unchanged volume leaves 0.44 of the conductivity."""
    p = lye_cell()
    volumes = replace(p.volumes, hydroxide=0.0, aluminate=0.0, water=18e-6)
    p = replace(p, contents=Contents(aluminium=1.0, water=2.6, hydroxide=0.2), volumes=volumes)
    extents = np.zeros(len(Process))
    extents[Process.DISCHARGE] = 0.2 * (1 - 1e-9)
    extents[Process.REFILL] = 0.3 * (1 - 1e-9)
    moment = Bench(p).moment(0.0, extents, ConstantCurrent(current=0.0), False)
    assert moment.conductivity / 57.0 == pytest.approx(0.44, abs=5.1e-3)
