"""What a little toluene does: volumes, dilution, flash in an oven, mixtures, and the cheat table.

Sources: fire figures NFPA 497 (toluene 1.1 %, acetone 2.5 %, as tabulated in an open library);
slopes of the lower limit 0.000784 /K (Burgess-Wheeler, line to zero at 1300 degC) and 0.00114 /K
(same review, methane, methanol, formaldehyde; abstract read); 24.45 L/mol of the limit tables (29 CFR
1910.1000, footnotes). The answers were worked by hand from the ideal gas law before the module.
Tolerance: last printed digit; 0.1 % where 24.45 stands for 24.465 L/mol.
"""

from __future__ import annotations

import pytest

from aerode.physics.exposure import mass_concentration
from aerode.physics.flammability import (
    air_volume_at_share,
    flash_share,
    lower_limit_at,
    mixture_lower_limit,
    vapour_volume,
)

LITRE = 1e-3


def test_one_millilitre() -> None:
    """0.2302 L of vapour; 20.9 L of air at the limit, 83.7 L at a quarter of it."""
    vapour = vapour_volume(0.8669e-3, 0.09214)
    assert vapour / LITRE == pytest.approx(0.2302, abs=5e-5)
    assert air_volume_at_share(vapour, 0.011) / LITRE == pytest.approx(20.9, abs=0.05)
    assert air_volume_at_share(vapour, 0.25 * 0.011) / LITRE == pytest.approx(83.7, abs=0.05)


@pytest.mark.parametrize(
    ("slope", "limit", "times"), [(0.00114, 1.006, 4.96), (0.000784, 1.035, 4.81)]
)
def test_three_grams_in_a_twenty_litre_oven(slope: float, limit: float, times: float) -> None:
    """4.985 % at 100 degC: about five times the lower limit there, with either slope."""
    share = flash_share(0.003, 0.09214, 373.15, 0.020)
    assert 100 * share == pytest.approx(4.985, abs=5e-4)
    warm = lower_limit_at(0.011, 373.15, slope)
    assert 100 * warm == pytest.approx(limit, abs=6e-4)
    assert share / warm == pytest.approx(times, abs=0.01)


def test_the_burgess_wheeler_line_ends_at_1300_degrees() -> None:
    """The slope 0.000784 /K draws the lower limit to zero at 1300 degC, as its review says."""
    assert lower_limit_at(0.011, 1299.0 + 273.15, 0.000784) == pytest.approx(0.0, abs=2e-5)


def test_le_chatelier() -> None:
    """Half toluene (1.1 %), half acetone (2.5 %): 1.528 %."""
    assert 100 * mixture_lower_limit([0.5, 0.5], [0.011, 0.025]) == pytest.approx(1.528, abs=5e-4)


def test_two_hundred_ppm() -> None:
    """753.7 mg/m3 with 24.45 L/mol."""
    assert mass_concentration(200e-6, 0.09214) * 1e6 == pytest.approx(753.7, rel=1e-3)


@pytest.mark.parametrize(
    ("density", "molar_mass", "lower", "litres", "to_quarter", "ppm", "cubic_metres"),
    [
        (866.9, 92.14, 0.011, 0.230, 84, 20, 11.5),
        (784.5, 58.08, 0.025, 0.331, 53, 250, 1.3),
        (785.0, 46.07, 0.031, 0.417, 54, 1000, 0.42),
        (900.3, 88.11, 0.020, 0.250, 50, 200, 1.25),
        (805.0, 72.11, 0.014, 0.273, 78, 75, 3.6),
        (786.0, 60.10, 0.020, 0.320, 64, 200, 1.6),
        (841.1, 136.24, 0.007, 0.151, 86, 5, 30),
        (1028.0, 99.13, 0.013, 0.254, 78, 10, 25),
    ],
)
def test_the_table_of_one_millilitre(
    density: float,
    molar_mass: float,
    lower: float,
    litres: float,
    to_quarter: float,
    ppm: float,
    cubic_metres: float,
) -> None:
    """Vapour, air to a quarter of the lower limit and to the health limit, two digits each."""
    vapour = vapour_volume(density * 1e-6, molar_mass / 1e3)
    assert vapour / LITRE == pytest.approx(litres, rel=0.01)
    assert air_volume_at_share(vapour, 0.25 * lower) / LITRE == pytest.approx(to_quarter, rel=0.015)
    assert air_volume_at_share(vapour, ppm * 1e-6) == pytest.approx(cubic_metres, rel=0.03)
