"""Five published evaporation models over one dish, worked out beside each other.

Source: the formulas as cited in `aerode.physics.evaporation_models`, evaluated independently (a few
lines of arithmetic in their own mixed units) before the module was written: toluene, 100 cm2
dish, 25 degC, 28.5 torr, mg/min. Status: derived; the constants of the penetration and mass transfer
models are from memory. Tolerance: 2 % where the diffusivity enters (0.845e-5 m2/s was used, two
digits), 1 unit of the last digit else.
"""

from __future__ import annotations

import pytest

from aerode.physics.evaporation_models import (
    laminar_plate_rate,
    mass_transfer_rate,
    open_pool_rate,
    penetration_rate,
    still_room_rate,
    turbulent_pool_rate,
)

DISH = (0.09214, 28.5 * 133.322368, 298.15, 0.01)
DIFFUSIVITY = 0.845e-5
TO_MG_PER_MIN = 6e7


@pytest.mark.parametrize(
    ("speed", "pool", "turbulent", "laminar", "penetration", "transfer"),
    [
        (0.05, 32, 34, 98, 200, 104),
        (0.10, 55, 57, 138, 282, 178),
        (0.25, 112, 117, 219, 446, 364),
        (0.50, 192, 201, 310, 631, 624),
    ],
)
def test_each_model(
    speed: float,
    pool: float,
    turbulent: float,
    laminar: float,
    penetration: float,
    transfer: float,
) -> None:
    """Every cell of the table."""
    rate = open_pool_rate(*DISH, speed, water_coefficient=0.67e-2)
    assert rate * TO_MG_PER_MIN == pytest.approx(pool, abs=0.6)
    rate = turbulent_pool_rate(*DISH, speed, DIFFUSIVITY)
    assert rate * TO_MG_PER_MIN == pytest.approx(turbulent, rel=0.02)
    rate = laminar_plate_rate(*DISH, speed, DIFFUSIVITY)
    assert rate * TO_MG_PER_MIN == pytest.approx(laminar, rel=0.02)
    assert penetration_rate(*DISH, speed) * TO_MG_PER_MIN == pytest.approx(penetration, abs=0.6)
    assert mass_transfer_rate(*DISH, speed) * TO_MG_PER_MIN == pytest.approx(transfer, abs=0.6)


def test_the_fixed_coefficient() -> None:
    """408 mg/min, whatever the air does."""
    rate = still_room_rate(*DISH, water_coefficient=0.83e-2)
    assert rate * TO_MG_PER_MIN == pytest.approx(408, abs=0.6)


def test_the_fixed_coefficient_is_the_pool_at_one_point_three() -> None:
    """Equal to the pool formula at 1.32 m/s, as noted when the formulas were compared."""
    still = still_room_rate(*DISH, water_coefficient=0.83e-2)
    assert open_pool_rate(*DISH, 1.32, water_coefficient=0.67e-2) == pytest.approx(still, rel=5e-3)
