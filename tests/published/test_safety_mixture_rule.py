"""Worked examples of the additive rule for mixtures in air.

Sources: 29 CFR 1910.1000(d)(2)(ii), read there: 500/1000 + 45/200 + 40/200 = 0.925, within. Problem
3-2 of a process-safety textbook (statement read on a secondary page, answer worked by hand from
its formula): 5/10 + 20/50 + 10/20 = 1.4, limit of the mixture 25 ppm, exceeded.
Tolerance: rounding of doubles; the figures are exact.
"""

from __future__ import annotations

import pytest

from aerode.physics.exposure import mixture_index, mixture_limit


def test_the_example_of_the_rule() -> None:
    """0.925, as printed in the rule: within."""
    assert mixture_index([500.0, 45.0, 40.0], [1000.0, 200.0, 200.0]) == pytest.approx(
        0.925, rel=1e-12
    )


def test_the_textbook_problem() -> None:
    """Index 1.4 and a limit of 25 ppm for 35 ppm in all: exceeded."""
    shares, limits = [5.0, 20.0, 10.0], [10.0, 50.0, 20.0]
    assert mixture_index(shares, limits) == pytest.approx(1.4, rel=1e-12)
    assert mixture_limit(shares, limits) == pytest.approx(25.0, rel=1e-12)
    assert sum(shares) > mixture_limit(shares, limits)


def test_a_vendor_example_over_the_limit() -> None:
    """Methanol 150/200 and ethyl acetate 300/400 add up to 1.5 (read on a secondary page)."""
    assert mixture_index([150.0, 300.0], [200.0, 400.0]) == pytest.approx(1.5, rel=1e-12)
