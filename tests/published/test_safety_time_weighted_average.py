"""The worked example of the time-weighted average in the US rule on air contaminants.

Source: 29 CFR 1910.1000(d)(1)(ii), read there: 150 ppm for 2 h, 75 ppm for 2 h, 50 ppm for 4 h is
81.25 ppm, below the limit of 100 ppm. Tolerance: none, the figures are exact.
"""

from __future__ import annotations

from aerode.physics.exposure import time_weighted_average

HOUR = 3600.0


def test_the_example_of_the_rule() -> None:
    """81.25 ppm, as printed in the rule, and below its limit."""
    average = time_weighted_average([150.0, 75.0, 50.0], [2 * HOUR, 2 * HOUR, 4 * HOUR], 8 * HOUR)
    assert average == 81.25
    assert average < 100.0
