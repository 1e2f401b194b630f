"""A Tafel electrode with perfect solid conduction and oxygen everywhere: δ = 2θ tan θ.

Inputs: δ = IL/(κb) from 0.1 to 100.
Expected: θ, apparent slope over b, rate at the electrolyte face over the mean, as printed; the
slope tends to twice the Tafel slope, I = √(2κ a i0 b) e^{η/2b}.
Tolerance: one unit of the last printed digit for the closed form; 2e-7 V for the solver.
Source: Newman & Tobias (1962), J. Electrochem. Soc. 109:1183; Newman, Electrochemical Systems
(status: unverified, from memory). How read: derived again and evaluated outside this program.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from aerode.physics.cathode import CathodeParameters, operating_point, polarization
from aerode.physics.electrode_limits import tafel_rails

PRINTED = [
    (0.1, 0.22176, 1.0327, 1.0336),
    (1.0, 0.653271, 1.2747, 1.3535),
    (2.0, 0.860334, 1.4598, 1.7402),
    (5.0, 1.142227, 1.7405, 3.0219),
    (10.0, 1.313838, 1.8912, 5.3452),
    (100.0, 1.540006, 1.9981, 50.05),
]
B = 0.05


def open_cathode(**changes: Any) -> CathodeParameters:
    """Oxygen everywhere at the reference, no film, no grains."""
    values: dict[str, Any] = {
        "thickness": 4e-4,
        "ionic_conductivity": 2.0,
        "electronic_conductivity": math.inf,
        "gas_diffusivity": 1e9,
        "oxygen_air": 8.0,
        "air_film": 0.0,
        "henry_liquid_per_gas": 0.025,
        "agglomerate_radius": 0.0,
        "agglomerate_diffusivity": 1e-9,
        "agglomerate_fraction": 0.4,
        "film_transfer": math.inf,
        "exchange_current": 50.0,
        "reference_oxygen": 0.2,
        "tafel_slope": B,
        "electrons": 4.0,
    }
    return CathodeParameters(**(values | changes))


@pytest.mark.parametrize(("delta", "theta", "slope", "crowding"), PRINTED)
def test_closed_form(delta: float, theta: float, slope: float, crowding: float) -> None:
    """The printed digits come out of the closed form."""
    state = tafel_rails(delta, 1.0, 1.0, math.inf, 1.0, 1.0)
    assert state.theta == pytest.approx(theta, abs=1.1e-6 if delta > 0.5 else 1.1e-5)
    assert state.slope_ratio == pytest.approx(slope, abs=1.1e-4)
    assert state.crowding == pytest.approx(crowding, rel=1.1e-4)


@pytest.mark.parametrize("delta", [0.1, 1.0, 5.0, 10.0, 100.0, 1000.0])
def test_solver(delta: float) -> None:
    """The solver gives the exact overpotential and crowding, also at a very thin front."""
    cathode = open_cathode()
    current = delta * 2.0 * B / 4e-4
    exact = tafel_rails(current, 4e-4, 2.0, math.inf, 50.0, B)
    point = operating_point(cathode, current)
    assert point.loss == pytest.approx(exact.face_overpotential, abs=2e-7)
    assert abs(point.loss - exact.face_overpotential) < point.error_estimate + 1e-10
    front = point.profile.local_rate[-1] * 4e-4 / current
    assert front == pytest.approx(exact.crowding, rel=1e-3)


def test_double_slope_limit() -> None:
    """Far up, I = √(2 κ a i0 b) e^{η/2b}: the Tafel slope has doubled."""
    currents = np.array([1.0, 2.0]) * 1e4 * 2.0 * B / 4e-4
    expected = 2.0 * B * np.log(currents / math.sqrt(2.0 * 2.0 * 50.0 * B))
    assert polarization(open_cathode(), currents).complete() == pytest.approx(expected, abs=2e-5)
