"""A porous layer that only charges, and one that reacts: printed values and a chain of 2000 cells.

Inputs: Z/R_ion over Omega = w R_ion C of 0.1 to 100; g = R_ct/R_ion of 0.01 to 10 at no frequency.
Expected: the closed form sqrt(R Z_s) coth sqrt(R/Z_s), five digits; R/3 at low frequency; a 45 degree
line of |Z| = sqrt(R/(w C)) at high frequency.
Tolerance: half a unit of the last printed digit. The chain has steps of 1/2000 of the depth, and
ends on half a step too much: 1/4000 of R = 2.5e-4, which is 1e-3 of |Z| at Omega = 10.
Source: de Levie (1963), Electrochim. Acta 8:751, and the general texts on porous electrodes (status:
unverified, cited from memory); the values were computed by hand from the closed form, the chain is
written here from Kirchhoff's laws alone.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from aerode.physics.impedance import (
    porous_direct_resistance,
    porous_impedance,
    surface_impedance,
)

PRINTED = [
    (0.1, 0.33331, -10.00222),
    (1.0, 0.33124, -1.02201),
    (3.0, 0.31587, -0.39477),
    (10.0, 0.22727, -0.21741),
    (30.0, 0.12900, -0.12922),
    (100.0, 0.07071, -0.07071),
]


def blocking(omega: float) -> NDArray[np.complex128]:
    """A surface that only charges, R_ion = C = 1."""
    return surface_impedance([omega / (2.0 * math.pi)], charge_transfer=math.inf, capacitance=1.0)


def chain(ionic: float, surface: complex, cells: int = 2000) -> complex:
    """Cells of pore resistance and surface, from the sealed end to the mouth."""
    each = surface * cells
    impedance = each
    for _ in range(cells - 1):
        before = ionic / cells + impedance
        impedance = each * before / (each + before)
    return impedance + ionic / cells


@pytest.mark.parametrize(("omega", "real", "imaginary"), PRINTED)
def test_printed_values(omega: float, real: float, imaginary: float) -> None:
    """The printed table comes out."""
    z = complex(porous_impedance(1.0, blocking(omega))[0])
    assert z.real == pytest.approx(real, abs=5.1e-6)
    assert z.imag == pytest.approx(imaginary, abs=5.1e-6)


@pytest.mark.parametrize("omega", [0.1, 1.0, 10.0, 30.0])
def test_chain_of_cells(omega: float) -> None:
    """Two thousand cells by Kirchhoff's laws agree."""
    surface = complex(blocking(omega)[0])
    z = complex(porous_impedance(1.0, blocking(omega))[0])
    assert abs(chain(1.0, surface) - z) < 2.6e-4


def test_both_ends() -> None:
    """A third of the pore resistance at low frequency, the 45 degree line at high."""
    assert float(porous_impedance(6.0, blocking(1e-6))[0].real) == pytest.approx(2.0, rel=1e-9)
    high = complex(porous_impedance(6.0, blocking(1e9))[0])
    assert abs(high) == pytest.approx(math.sqrt(6.0 / 1e9), rel=1e-12)
    assert math.degrees(math.atan2(high.imag, high.real)) == pytest.approx(-45.0, abs=1e-9)


@pytest.mark.parametrize(
    ("g", "printed"), [(0.01, 0.1000), (0.1, 0.31736), (1.0, 1.31304), (10.0, 10.33113)]
)
def test_direct_current(g: float, printed: float) -> None:
    """Reacting layers at no frequency, also as the limit of the spectrum."""
    assert porous_direct_resistance(1.0, g) == pytest.approx(printed, abs=5.1e-6)
    slow = surface_impedance([1e-12], charge_transfer=g, capacitance=1.0)
    assert float(porous_impedance(1.0, slow)[0].real) == pytest.approx(printed, abs=5.1e-6)
