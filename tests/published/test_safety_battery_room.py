"""The battery room formula against a vendor's public calculation sheet and two public pages.

Sources: (a) a public calculation sheet for a nickel-cadmium battery, read there: 95 cells, 1450 Ah,
gas currents 5, 50 and 200 mA/Ah: 34.71, 347.13 and 1388.52 m3/h, opening 28 cm2 for each m3/h.
(b) A battery maker's page on EN 50272-3, read there: Q = v q s n I C/100 with v = 24,
q = 0.42e-3 m3/Ah, s = 5, printed as Q = 0.05 n I C/100, air through the opening at 0.1 m/s.
(c) A battery service page, read there: Q[L/s] = 0.017 I n, from 0.46 L/(cell Ah), dilution 26
and safety factor 5. Tolerances: last printed digit of (a); 1 % for the rounded 0.05 of (b); 3 % for
the two-digit constant of (c).
"""

from __future__ import annotations

import pytest

from aerode.physics.hydrogen import dilution_flow, safety_factor_flow

HOUR = 3600.0
EN_FIGURES = {"volume_per_charge": 0.42e-3 / HOUR, "dilution": 24.0, "safety_factor": 5.0}


@pytest.mark.parametrize(("milliampere", "flow"), [(5, 34.71), (50, 347.13), (200, 1388.52)])
def test_the_calculation_sheet(milliampere: float, flow: float) -> None:
    """The three flows of the sheet, to its last digit."""
    current = 95 * 1450 * milliampere * 1e-3
    ours = safety_factor_flow(current, **EN_FIGURES) * HOUR
    assert ours == pytest.approx(flow, abs=0.006)
    assert ours == pytest.approx(0.05 * current, rel=0.01)


def test_the_opening_is_the_flow_at_a_tenth_of_a_metre_a_second() -> None:
    """28 cm2 for each m3/h is air at 0.1 m/s, as the standard says beside it."""
    flow = safety_factor_flow(95 * 1450 * 5e-3, **EN_FIGURES)
    assert 28.0 * flow * HOUR == pytest.approx(971.9, abs=0.2)
    assert flow / (28.0 * flow * HOUR * 1e-4) == pytest.approx(0.1, rel=0.01)


def test_a_service_page_with_its_own_figures() -> None:
    """0.46 L/Ah, dilution 26 and factor 5 make the page's 0.017 L/s for each ampere."""
    ours = safety_factor_flow(
        1.0, volume_per_charge=0.46e-3 / HOUR, dilution=26.0, safety_factor=5.0
    )
    assert ours * 1e3 == pytest.approx(0.017, rel=0.03)


def test_a_quarter_of_the_lower_limit_is_nearly_the_factor_of_five() -> None:
    """Exact dilution to 1 % and the factor-of-five formula differ by less than 15 %, as derived."""
    exact = dilution_flow(1.0, 0.01) * HOUR
    assert exact == pytest.approx(0.0452, abs=5e-5)
    assert 0.85 < exact / 0.0504 < 1.0
