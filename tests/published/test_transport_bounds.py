"""Porous layers: Bruggeman, Maxwell and the Hashin-Shtrikman bound against each other and by hand.

Sources: J. C. Maxwell (1873), Treatise on Electricity and Magnetism, art. 314 (spheres in a conductor);
D. A. G. Bruggeman (1935), Ann. Phys. 24:636; Z. Hashin & S. Shtrikman (1962), J. Appl. Phys. 33:3125.
How read: the formulas stand in every text on composites; the numbers below are worked by hand from
them (0.5^1.5 = sqrt(2)/4; 2 x 0.5/(3 - 0.5) = 0.4). Tolerance: rounding of the printed digits.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import RangeError
from aerode.physics.transport import (
    bruggeman,
    hashin_shtrikman,
    refuse_above_bound,
    tortuosity_factor,
)


def test_half_void() -> None:
    """At 50 % of void: Bruggeman 0.35355, bound 0.4."""
    assert float(bruggeman(0.5)) == pytest.approx(0.35355, abs=5e-6)
    assert float(hashin_shtrikman(0.5, 1.0)[1]) == pytest.approx(0.4, abs=1e-15)


@pytest.mark.parametrize("solid", [1e-3, 1e-4, 1e-5])
def test_dilute_spheres_after_maxwell(solid: float) -> None:
    """Few insulating spheres take away 3/2 of their volume share, whichever model is asked."""
    expected = 1.0 - 1.5 * solid

    assert float(bruggeman(1.0 - solid)) == pytest.approx(expected, abs=solid**2)
    assert float(hashin_shtrikman(1.0 - solid, 1.0)[1]) == pytest.approx(expected, abs=solid**2)


@pytest.mark.parametrize("solid_conducts", [0.0, 0.1, 1.0, 3.0, 10.0])
@pytest.mark.parametrize("solid", [0.1, 0.3, 0.6])
def test_the_bound_is_maxwells_formula_for_coated_spheres(
    solid: float, solid_conducts: float
) -> None:
    """Maxwell: k (2k + ks - 2 f (k - ks))/(2k + ks + f (k - ks)), k around spheres of ks."""
    k, ks, f = 2.0, solid_conducts, solid
    maxwell = k * (2 * k + ks - 2 * f * (k - ks)) / (2 * k + ks + f * (k - ks))
    if ks <= k:
        bound = float(hashin_shtrikman(1.0 - f, k, ks)[1])
    else:
        bound = float(hashin_shtrikman(f, ks, k)[0])

    assert bound == pytest.approx(maxwell, rel=1e-12)


def test_bruggeman_lies_below_the_bound_everywhere() -> None:
    """No exponent of 1.5 or more breaks the bound."""
    share = np.linspace(0.0, 1.0, 101)
    upper = hashin_shtrikman(share, 1.0)[1]

    assert np.all(bruggeman(share) <= upper + 1e-15)
    assert np.all(bruggeman(share, 3.0) <= bruggeman(share))


def test_a_measured_ratio_above_the_bound_is_refused() -> None:
    """41 % through half a layer cannot be; 35 % can, and is a tortuosity of 1.41."""
    with pytest.raises(RangeError, match="bound"):
        refuse_above_bound(0.41, 0.5)

    assert tortuosity_factor(0.5**1.5, 0.5) == pytest.approx(math.sqrt(2.0), rel=1e-12)
