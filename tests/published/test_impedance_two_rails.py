"""A porous layer with liquid and solid resistance: the direct-current brackets, and a chain of cells.

Inputs: nu and sigma/kappa as printed, real surface impedance; complex surfaces for the chain.
Expected: the bracket {1 + [2 + (s/k + k/s) cosh nu]/(nu sinh nu)}: (1,1) 5.32791, (1,10) 15.96349,
(3,1) 1.73653, (3,10) 4.44995, (10,1) 1.20002; L/(kappa+sigma) at once and L(kappa+sigma)/(3 kappa
sigma) when slow.
Tolerance: half a unit of the last printed digit; the chain of 1500 cells has steps of 1/1500 of the
depth and half steps at its ends: 2e-3.
Source: Euler & Nonnenmacher (1960), Electrochim. Acta 2:268; Newman & Tobias (1962), J. Electrochem.
Soc. 109:1183 (status: unverified, from memory; derived again). The chain is written here from
Kirchhoff's laws alone.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.linalg import solve_banded

from aerode.physics.impedance import (
    porous_impedance,
    surface_impedance,
    two_rail_impedance,
    two_rail_instant_resistance,
    two_rail_slow_resistance,
)


@pytest.mark.parametrize(
    ("nu", "ratio", "printed"),
    [
        (1.0, 1.0, 5.32791),
        (1.0, 10.0, 15.96349),
        (3.0, 1.0, 1.73653),
        (3.0, 10.0, 4.44995),
        (10.0, 1.0, 1.20002),
    ],
)
def test_direct_current_brackets(nu: float, ratio: float, printed: float) -> None:
    """The printed brackets are the spectrum at no frequency."""
    ionic, electronic = 1.0, 1.0 / ratio
    surface = np.array([(ionic + electronic) / nu**2 + 0j])
    z = two_rail_impedance(ionic, electronic, surface)[0]
    instant = two_rail_instant_resistance(ionic, electronic)
    assert float(z.real) / instant == pytest.approx(printed, abs=5.1e-6)


def chain(ionic: float, electronic: float, surface: complex, cells: int = 1500) -> complex:
    """Potential between electrolyte face and collector for 1 A, solid and liquid as two rails.

    Unknowns: the current in the liquid between neighbouring cells; each loop sums to nothing.
    """
    liquid, solid, each = ionic / cells, electronic / cells, surface * cells
    bands = np.zeros((3, cells - 1), dtype=complex)
    bands[1] = liquid + solid + 2.0 * each
    bands[0, 1:] = bands[2, :-1] = -each
    known = np.full(cells - 1, solid, dtype=complex)
    known[-1] += each  # all current is in the liquid at its face
    inner = solve_banded((1, 1), bands, known)
    through = np.concatenate([[0.0], inner, [1.0]])
    drop_in_solid = solid * np.sum(1.0 - through[1:-1]) + 0.5 * solid
    return complex(drop_in_solid + each * (through[-1] - through[-2]) + 0.5 * liquid)


@pytest.mark.parametrize("omega", [0.3, 3.0, 30.0])
@pytest.mark.parametrize("electronic", [0.05, 1.0, 4.0])
def test_chain_of_cells(omega: float, electronic: float) -> None:
    """Fifteen hundred loops by Kirchhoff's laws agree."""
    surface = surface_impedance(
        [omega / (2 * math.pi)], charge_transfer=0.7, capacitance=1.0, exponent=0.9
    )
    z = complex(two_rail_impedance(1.0, electronic, surface)[0])
    assert abs(chain(1.0, electronic, complex(surface[0])) - z) / abs(z) < 2e-3


def test_ends() -> None:
    """At once both rails side by side; slowly a third of their sum; one rail where the solid is perfect."""
    fast = surface_impedance([1e15], charge_transfer=1.0, capacitance=1.0)
    slow = np.array([1e9 + 0j])
    z = float(two_rail_impedance(2.0, 0.5, fast)[0].real)
    assert z == pytest.approx(two_rail_instant_resistance(2.0, 0.5), rel=1e-6)
    late = float(two_rail_impedance(2.0, 0.5, slow)[0].real) - 1e9
    assert late == pytest.approx(two_rail_slow_resistance(2.0, 0.5), rel=1e-5)
    some = surface_impedance([0.3, 3.0], charge_transfer=1.0, capacitance=1.0)
    np.testing.assert_allclose(
        two_rail_impedance(2.0, 1e-9, some), porous_impedance(2.0, some), rtol=1e-7
    )
