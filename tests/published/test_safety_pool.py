"""The pool evaporation formula of the US guidance on offsite consequences.

Source: EPA 550-B-99-009, appendix D: QR[lb/min] = 0.284 U^0.78[m/s] M^(2/3) A[ft2] P[mmHg] /
(82.05 T[K]), form from memory; the constant was derived again from K = 0.67 cm/s (18/M)^(1/3)
U^0.78, which gives 0.2839. Case: toluene, 1 ft2, 1.5 m/s, 28.5 mmHg, 298 K.
Tolerance: 0.2 %, from the three digits of 0.284 and the rounding of 18.015 g/mol to 18.
"""

from __future__ import annotations

import pytest

from aerode.physics.evaporation_models import open_pool_rate

POUND, FOOT, TORR = 0.45359237, 0.3048, 133.322368


def test_toluene_on_a_square_foot() -> None:
    """0.009265 lb/min, or 4.20 g/min."""
    published = 0.284 * 1.5**0.78 * 92.14 ** (2 / 3) * 1.0 * 28.5 / (82.05 * 298.0)
    assert published == pytest.approx(0.009265, abs=2e-6)
    ours = open_pool_rate(0.09214, 28.5 * TORR, 298.0, FOOT**2, 1.5, water_coefficient=0.67e-2)
    assert ours * 60.0 / POUND == pytest.approx(published, rel=2e-3)
    assert ours * 60.0 * 1e3 == pytest.approx(4.203, rel=2e-3)
