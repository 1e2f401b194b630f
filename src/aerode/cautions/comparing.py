"""A band beside its limit: above, below, or cannot tell, and the level that follows."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aerode.records.cautions import CautionLevel, Finding

__all__ = ["Band", "compare", "level_of", "per_cent", "plain", "span"]


@dataclass(frozen=True, slots=True)
class Band:
    """Low and high end of what is estimated; high is infinite where an input has no upper end."""

    low: float
    high: float

    def over(self, limit: float) -> Band:
        """The band in units of a limit."""
        return Band(self.low / limit, self.high / limit)

    def widened(self, down: float, up: float) -> Band:
        """The band with its ends multiplied."""
        return Band(self.low * down, self.high * up)


def compare(ratio: Band) -> Finding:
    """How a band, in units of its limit, stands to that limit."""
    if ratio.low > 1.0:
        return Finding.ABOVE
    return Finding.BELOW if ratio.high <= 1.0 else Finding.STRADDLES


def level_of(finding: Finding, *, published: bool) -> CautionLevel:
    """The level of a comparison: STOP only where a published figure carries it.

    Below is a NOTE; cannot tell, no limit and no figure are a FIRST; above is a STOP, or a FIRST
    where the limit or the figure is from memory.
    """
    if finding is Finding.BELOW:
        return CautionLevel.NOTE
    if finding is Finding.ABOVE and published:
        return CautionLevel.STOP
    return CautionLevel.FIRST


def plain(value: float, digits: int = 2) -> str:
    """A positive number with so many significant digits and no exponent.

    >>> plain(723.4), plain(0.00912), plain(9.96), plain(0.0)
    ('720', '0.0091', '10', '0')
    """
    if value <= 0.0:
        return "0"
    decimals = digits - 1 - math.floor(math.log10(value))
    rounded = round(value, decimals)
    text = f"{rounded:.{max(0, decimals)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def span(band: Band, unit: str) -> str:
    """A band for people, with its unit.

    >>> span(Band(0.001, 0.05), "ppm"), span(Band(2.0, math.inf), "%")
    ('0.001 to 0.05 ppm', '2 % or more')
    """
    if not math.isfinite(band.high):
        return f"{plain(band.low)} {unit} or more"
    low, high = plain(band.low), plain(band.high)
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def per_cent(ratio: Band) -> str:
    """A band as per cent of its limit, for people; a low end alone that is below it says nothing.

    >>> per_cent(Band(0.001, 0.05)), per_cent(Band(0.0, 1e-6))
    ('0.1 to 5 %', 'under 0.01 %')
    >>> per_cent(Band(0.0, math.inf)), per_cent(Band(3.0, math.inf))
    ('an unknown share', '300 % or more')
    """
    if not math.isfinite(ratio.high) and ratio.low <= 1.0:
        return "an unknown share"
    if ratio.high < 1e-4:  # judgement: below it the words are short
        return "under 0.01 %"
    return span(Band(100 * ratio.low, 100 * ratio.high), "%")
