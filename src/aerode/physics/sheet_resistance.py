"""The sheet resistance of a coating by four contacts: at the edge of a piece, or in a row on it.

Only on an insulating carrier: a metal mesh inside or below the coating shorts the sheet. Coat a strip
of glass or plastic film for it.
"""

from __future__ import annotations

import math

from scipy.optimize import brentq

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero

__all__ = [
    "edge_correction",
    "edge_sheet_resistance",
    "row_factor_circle",
    "row_factor_rectangle",
    "thickness_factor",
]

_LN2 = math.log(2.0)
_MOST_TERMS = 200  # numerical
_LAST = 1e-15  # numerical: of a series' term, beside 1


def edge_correction(ratio: float) -> float:
    """The factor by which two unlike edge readings correct their mean.

    Parameters
    ----------
    ratio : float [1]
        The larger of the two resistances over the smaller, 1 or more.

    Returns
    -------
    float [1]
        f, 1 for like readings, falling.

    Raises
    ------
    RangeError
        A ratio below 1.

    Notes
    -----
    cosh[((r-1)/(r+1)) ln2/f] = exp(ln2/f)/2 (van der Pauw 1958, Philips Res. Rep. 13:1; status:
    unverified, from memory; the equation stands in every text).

    Examples
    --------
    >>> [round(edge_correction(r), 5) for r in (1.0, 2.0, 10.0)]
    [1.0, 0.96028, 0.69926]
    """
    if not ratio >= 1.0:
        raise RangeError(f"a ratio of {ratio:g}", where="ratio", allowed="1 or more")
    uneven = (ratio - 1.0) / (ratio + 1.0)

    def excess(x: float) -> float:
        # x = ln2/f, with exp(x) taken out so that nothing overflows
        return math.exp((uneven - 1.0) * x) + math.exp(-(uneven + 1.0) * x) - 1.0

    if uneven == 0.0:
        return 1.0
    top = 1.0
    while excess(top) > 0.0:
        top *= 2.0
    return _LN2 / float(brentq(excess, 1e-3, top, xtol=1e-14, rtol=1e-14))


def edge_sheet_resistance(first: float, second: float) -> float:
    """The sheet resistance from two readings with four contacts at the edge of a piece of any shape.

    Parameters
    ----------
    first, second : float [ohm]
        Voltage at two neighbouring contacts over current through the other two, and the same turned
        by one contact.

    Returns
    -------
    float [ohm]
        Per square.

    Raises
    ------
    RangeError
        A reading not above zero.

    Notes
    -----
    (pi/ln2) (R1 + R2)/2 f: the solution of exp(-pi R1/Rs) + exp(-pi R2/Rs) = 1. Contacts small and at
    the very edge, an even sheet without holes.

    Examples
    --------
    >>> round(edge_sheet_resistance(10.0, 10.0), 4)
    45.3236
    """
    above_zero(first=first, second=second)
    ratio = max(first, second) / min(first, second)
    return math.pi / _LN2 * 0.5 * (first + second) * edge_correction(ratio)


def row_factor_circle(diameter_over_spacing: float) -> float:
    """The factor for four points in a row in the middle of a round sheet.

    Parameters
    ----------
    diameter_over_spacing : float [1]
        Diameter over the spacing of the points, more than 3.

    Returns
    -------
    float [1]
        C in R_s = C V/I; pi/ln2 for a sheet without end.

    Raises
    ------
    RangeError
        The points do not lie on the sheet.

    Notes
    -----
    pi/{ln2 + ln[(q+3)/(q-3)]}, q the square of the ratio (image charges; Smits 1958, Bell Syst. Tech.
    J. 37:711; status: unverified, from memory).

    Examples
    --------
    >>> round(row_factor_circle(10.0), 4)
    4.1712
    """
    if not diameter_over_spacing >= 3.0:
        raise RangeError(
            f"a diameter of {diameter_over_spacing:g} spacings",
            where="diameter",
            allowed="3 or more: the outer points lie 3 spacings apart",
        )
    q = diameter_over_spacing**2
    return math.pi / (_LN2 + math.log((q + 3.0) / (q - 3.0)))


def row_factor_rectangle(length_over_width: float, width_over_spacing: float) -> float:
    """The factor for four points in a row, along the length, in the middle of a rectangle.

    Parameters
    ----------
    length_over_width : float [1]
        Length along the points over width across them.
    width_over_spacing : float [1]
        Width over the spacing of the points.

    Returns
    -------
    float [1]
        C in R_s = C V/I.

    Raises
    ------
    RangeError
        The points do not lie on the sheet.

    Notes
    -----
    pi/{pi s/d + ln(1-e^{-4 pi s/d}) - ln(1-e^{-2 pi s/d}) + sum_m (1/m) e^{-2 pi (a-2s) m/d}
    (1-e^{-6 pi s m/d})(1-e^{-2 pi s m/d})/(1+e^{-2 pi a m/d})} (images in both pairs of edges; Smits
    1958; status: unverified, from memory).

    Examples
    --------
    >>> round(row_factor_rectangle(2.0, 2.0), 4)
    1.9454
    """
    above_zero(length_over_width=length_over_width, width_over_spacing=width_over_spacing)
    s, a = 1.0 / width_over_spacing, length_over_width  # in widths
    if not a >= 3.0 * s:
        raise RangeError(
            "the outer points lie beyond the ends", where="length", allowed="3 spacings or more"
        )
    turn = 2.0 * math.pi
    whole = math.pi * s
    whole += math.log1p(-math.exp(-2.0 * turn * s)) - math.log1p(-math.exp(-turn * s))
    for m in range(1, _MOST_TERMS):
        term = math.exp(-turn * (a - 2.0 * s) * m) / m
        term *= (1.0 - math.exp(-3.0 * turn * s * m)) * (1.0 - math.exp(-turn * s * m))
        whole += term / (1.0 + math.exp(-turn * a * m))
        if term < _LAST:
            break
    return math.pi / whole


def thickness_factor(thickness_over_spacing: float) -> float:
    """The factor for a sheet that is not thin beside the spacing of the points.

    Parameters
    ----------
    thickness_over_spacing : float [1]
        More than 0.

    Returns
    -------
    float [1]
        Multiplies the sheet resistance found as if thin.

    Raises
    ------
    RangeError
        A value not above zero.

    Notes
    -----
    ln2/ln[sinh(t/s)/sinh(t/2s)] (Valdes 1954 and texts; status: unverified, from memory).

    Examples
    --------
    >>> round(thickness_factor(1.0), 4)
    0.8523
    """
    above_zero(thickness_over_spacing=thickness_over_spacing)
    x = thickness_over_spacing
    # sinh(x)/sinh(x/2) = 2 cosh(x/2); its logarithm without overflow
    return _LN2 / (0.5 * x + math.log1p(math.exp(-x)))
