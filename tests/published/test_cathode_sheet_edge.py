"""Sheet resistance by four contacts at the edge: the correction for unlike readings.

Inputs: ratios of the two readings from 1 to 1000.
Expected: f solving cosh[((r-1)/(r+1)) ln2/f] = exp(ln2/f)/2, as printed; the series
1 - x^2 ln2/2 - x^4 (ln^2 2/4 - ln^3 2/12), x = (r-1)/(r+1); the identity
exp(-pi R1/Rs) + exp(-pi R2/Rs) = 1.
Tolerance: half a unit of the last printed digit; 1 % for the series up to r = 5, as far as it is said
to hold.
Source: van der Pauw (1958), Philips Res. Rep. 13:1 (status: unverified, from memory; the relation was
read on public pages). How read: digits evaluated from the relation outside this program.
"""

from __future__ import annotations

import math

import pytest

from aerode.errors import RangeError
from aerode.physics.sheet_resistance import edge_correction, edge_sheet_resistance

PRINTED = {1: 1.0, 1.5: 0.98599, 2: 0.96028, 3: 0.90668, 5: 0.82166, 10: 0.69926, 20: 0.58854,
           50: 0.47156, 100: 0.40385, 200: 0.35032, 1000: 0.26370}  # fmt: skip


@pytest.mark.parametrize("ratio", list(PRINTED))
def test_table(ratio: float) -> None:
    """The printed factors."""
    assert edge_correction(ratio) == pytest.approx(PRINTED[ratio], abs=5.1e-6)


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0, 3.0, 5.0])
def test_series(ratio: float) -> None:
    """The two-term series holds to a per cent up to five."""
    x, ln2 = (ratio - 1) / (ratio + 1), math.log(2.0)
    series = 1 - x**2 * ln2 / 2 - x**4 * (ln2**2 / 4 - ln2**3 / 12)

    assert edge_correction(ratio) == pytest.approx(series, rel=1e-2)


@pytest.mark.parametrize(("first", "second"), [(3.0, 3.0), (1.0, 7.0), (0.02, 40.0)])
def test_identity(first: float, second: float) -> None:
    """The sheet resistance solves the relation it comes from, whichever reading is the larger."""
    sheet = edge_sheet_resistance(first, second)

    assert math.exp(-math.pi * first / sheet) + math.exp(
        -math.pi * second / sheet
    ) == pytest.approx(1.0)
    assert edge_sheet_resistance(second, first) == sheet


def test_refusals() -> None:
    """A ratio below one and a reading of nothing."""
    with pytest.raises(RangeError):
        edge_correction(0.5)
    with pytest.raises(RangeError):
        edge_sheet_resistance(0.0, 1.0)
