"""Sheet resistance by four points in a row: round and rectangular pieces, and thick sheets.

Inputs: sizes over the spacing of the points, as printed.
Expected: C in R_s = C V/I, pi/ln2 = 4.53236 without end; the thickness factor
ln2/ln[sinh(t/s)/sinh(t/2s)].
Tolerance: half a unit of the last printed digit. An independent sum over image sources for the
rectangle: its cut-off leaves 2e-3.
Source: Smits (1958), Bell Syst. Tech. J. 37:711; Valdes (1954) for the thickness (status: unverified,
from memory). How read: digits evaluated from the forms outside this program.
"""

from __future__ import annotations

import math

import pytest

from aerode.errors import RangeError
from aerode.physics.sheet_resistance import (
    row_factor_circle,
    row_factor_rectangle,
    thickness_factor,
)

ENDLESS = math.pi / math.log(2.0)


@pytest.mark.parametrize(
    ("size", "factor"),
    [(3, 2.2662), (4, 2.9289), (5, 3.3625), (10, 4.1712), (20, 4.4364), (40, 4.5080)],
)
def test_circle(size: float, factor: float) -> None:
    """A round piece, by its diameter over the spacing."""
    assert row_factor_circle(size) == pytest.approx(factor, abs=5.1e-5)


@pytest.mark.parametrize(
    ("shape", "size", "factor"),
    [(1, 4, 3.1134), (1, 10, 4.2208), (1, 20, 4.4498), (2, 2, 1.9454), (4, 1, 0.9994), (4, 2, 1.9475),
     (4, 10, 4.2356)],
)  # fmt: skip
def test_rectangle(shape: float, size: float, factor: float) -> None:
    """A rectangle, by length over width and width over spacing."""
    assert row_factor_rectangle(shape, size) == pytest.approx(factor, abs=5.1e-5)


def test_rectangle_by_images() -> None:
    """Mirror images of the two current points in all four edges, added up one by one."""
    length, width, reach = 8.0, 8.0, 60

    def potential(x: float) -> float:
        """Of a source at -1.5 and a sink at 1.5 on the middle line, up to a constant."""
        total = 0.0
        for i in range(-reach, reach + 1):
            for j in range(-reach, reach + 1):
                for at, sign in ((-1.5, 1.0), (1.5, -1.0)):
                    mirrored = at if i % 2 == 0 else -at
                    dx, dy = x - (i * length + mirrored), j * width
                    total -= sign * 0.5 * math.log(dx * dx + dy * dy)
        return total

    factor = 2.0 * math.pi / (potential(-0.5) - potential(0.5))
    assert row_factor_rectangle(1.0, 8.0) == pytest.approx(factor, rel=2e-3)


def test_without_end_and_thick() -> None:
    """Large pieces tend to pi/ln2; the printed thickness factors."""
    assert row_factor_circle(1e5) == pytest.approx(ENDLESS, abs=5e-6)
    assert row_factor_rectangle(1.0, 3e3) == pytest.approx(ENDLESS, abs=5e-6)
    for thickness, factor in (
        (0.1, 0.9982),
        (0.4, 0.9721),
        (0.5, 0.9573),
        (1, 0.8523),
        (2, 0.6151),
    ):
        assert thickness_factor(thickness) == pytest.approx(factor, abs=5.1e-5)


def test_refusals() -> None:
    """Points beyond the piece."""
    with pytest.raises(RangeError):
        row_factor_circle(2.9)
    with pytest.raises(RangeError):
        row_factor_rectangle(1.0, 2.9)
