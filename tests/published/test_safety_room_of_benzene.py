"""A steady source in a ventilated room, and the ventilation formula in its usual mixed units.

Sources: a textbook problem (statement read on a secondary page; answer worked by hand): benzene at
1 g/min in a room of 6 x 6 x 3 m with 10 m3/min of air: 100 mg/m3 in the end; 95 % of it after
-(108/10) ln 0.05 = 32.35 min. Ventilation page of the University of Toledo, read there:
Q[ft3/min] = 403e6 SG ER[pint/min] K / (MW C[ppm]), stated for 70 degF.
Tolerance: 1e-4 for the printed digits of the first; 0.5 % for the second, whose 403 is a rounded
constant (the exact one at 70 degF is 402.8 to 403.4, depending on the atomic weights).
"""

from __future__ import annotations

import pytest

from aerode.physics.exposure import mass_concentration
from aerode.physics.room_air import flow_needed, time_to_share, well_mixed

MINUTE = 60.0
PINT = 473.176473e-6  # m3, US liquid pint, exact by definition
CUBIC_FOOT = 0.3048**3


def test_the_textbook_room() -> None:
    """100 mg/m3 in the end, 95 of it after 32.35 min."""
    emission, flow, volume = 1e-3 / MINUTE, 10.0 / MINUTE, 6.0 * 6.0 * 3.0
    assert well_mixed(emission, flow, volume, 1e6) == pytest.approx(100e-6, rel=1e-6)
    time = time_to_share(0.95, flow, volume)
    assert time / MINUTE == pytest.approx(32.35, rel=2e-4)
    assert well_mixed(emission, flow, volume, time) == pytest.approx(95e-6, rel=1e-9)


@pytest.mark.parametrize("mixing", [1.0, 4.0])
def test_the_ventilation_formula_in_mixed_units(mixing: float) -> None:
    """Toluene, a hundredth of a pint a minute, to 100 ppm: the same flow as the formula's."""
    gravity, molar_mass, rate, ppm = 0.8669, 92.14, 0.01, 100.0
    published = 403e6 * gravity * rate * mixing / (molar_mass * ppm)
    seventy_fahrenheit = (70.0 - 32.0) / 1.8 + 273.15
    emission = gravity * 1000.0 * rate * PINT / MINUTE
    limit = mass_concentration(ppm * 1e-6, molar_mass / 1000.0, seventy_fahrenheit)
    ours = flow_needed(emission, limit, mixing=mixing) * MINUTE / CUBIC_FOOT
    assert ours == pytest.approx(published, rel=5e-3)
