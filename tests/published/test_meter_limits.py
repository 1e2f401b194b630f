"""A multimeter's limit of error: per cent of reading plus counts of the last digit.

Sources
-------
- Kwantlen Polytechnic University, Physics 1102/1220, "Understanding the DMM's Uncertainty
  Specifications", https://www.kpu.ca/physics/Phys1102-1220/DMMUncertainties (page read):
  ±(2.5 % + 3 dgt), last digit 0.01 V: 32.00 V → 0.83 V; 0.09 V → 0.03225 V.
- http://www.victorruoshui.com/newsinfo/72611.html (page read): ±(0.08 % rdg + 2 dgt) of a meter
  with a last digit of 1 mV at 2.000 V: the range lies between 1.9964 and 2.0036 V.
- JCGM 100:2008 (GUM), 4.3.7: a value known to lie within ±a, evenly, has u = a/√3.

Tolerance: the sources' own digits are exact decimal arithmetic, so 1e-12 V.
"""

from __future__ import annotations

import pytest

from aerode.measure.meters import limit_of_error, meter_from_text, voltmeter
from aerode.records.instruments import MeterRange


def scale(of_reading: float, counts: float, count: float) -> MeterRange:
    """A voltage range with this limit of error."""
    return MeterRange(
        name="range", full_scale=40.0, count=count, of_reading=of_reading, counts=counts
    )


@pytest.mark.parametrize(("reading", "limit"), [(32.00, 0.83), (0.09, 0.03225)])
def test_the_tutorial_of_a_university(reading: float, limit: float) -> None:
    """2.5 % + 3 digits of 0.01 V, at a large and at a small reading."""
    assert limit_of_error(reading, scale(0.025, 3, 0.01)) == pytest.approx(limit, abs=1e-12)


def test_the_range_between_two_limits() -> None:
    """0.08 % + 2 digits of 1 mV at 2.000 V: between 1.9964 and 2.0036 V."""
    limit = limit_of_error(2.000, scale(0.0008, 2, 0.001))
    assert 2.000 - limit == pytest.approx(1.9964, abs=1e-12)
    assert 2.000 + limit == pytest.approx(2.0036, abs=1e-12)


def test_a_limit_becomes_a_standard_uncertainty() -> None:
    """GUM 4.3.7: both parts of the limit are divided by √3."""
    meter = meter_from_text("0.08 % + 2 digits of 1 mV")
    used = voltmeter(meter, "", [1.0], unnamed="")
    assert used.gain == pytest.approx(0.0008 / 3**0.5, rel=1e-12)
    assert used.scatter == pytest.approx(0.002 / 3**0.5, rel=1e-12)
