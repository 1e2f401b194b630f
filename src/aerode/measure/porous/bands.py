"""What is not known exactly, as a band: drawn from a number between 0 and 1, so that draws can be shared.

Before and after a change use the same numbers between 0 and 1, and so does a ranking of the inputs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from aerode.errors import RangeError
from aerode.quantities import Basis
from aerode.records.simulations import InputBand

__all__ = ["Band", "Form", "drawn", "shown"]

Floats = NDArray[np.float64]

_EDGE = 1e-9  # numerical: no draw lies at the very end of a bell
_OUTER = (0.025, 0.5, 0.975)  # by definition: ends and middle of a 95 % band


class Form(StrEnum):
    """How a band is filled."""

    FIXED = "fixed"
    EVEN = "even"
    """Every value between the ends alike."""
    EVEN_IN_LOG = "even in the logarithm"
    BELL = "bell"
    """Normal; `low` is the middle less one standard uncertainty, `high` the middle plus one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One input with what is known of it.

    Parameters
    ----------
    low, high : float [unit]
        Ends; for a bell one standard uncertainty to either side of its middle.
    form : Form
    unit : str
    basis : Basis
        What it rests on.
    source : str
        In words, or a key of the bibliography.
    least : float [unit]
        A bell is cut off here.

    Examples
    --------
    >>> band = Band(low=1.0, high=100.0, form=Form.EVEN_IN_LOG, unit="S/m", basis=Basis.ASSUMED,
    ...     source="from memory")
    >>> band.at(np.array([0.0, 0.5, 1.0])).round(6)
    array([  1.,  10., 100.])
    """

    low: float
    high: float
    form: Form
    unit: str
    basis: Basis
    source: str
    least: float = 0.0

    def __post_init__(self) -> None:
        finite = math.isfinite(self.low) and math.isfinite(self.high)
        if not finite or self.low > self.high:
            raise RangeError("not a band", where=self.source, allowed="low to high, both finite")
        if self.form is Form.EVEN_IN_LOG and self.low <= 0.0:
            raise RangeError("no logarithm", where=self.source, allowed="ends above 0")

    @classmethod
    def fixed(cls, value: float, unit: str, basis: Basis, source: str) -> Band:
        """A value taken as exact.

        Parameters
        ----------
        value : float [unit]
        unit : str
        basis : Basis
        source : str

        Returns
        -------
        Band
        """
        return cls(low=value, high=value, form=Form.FIXED, unit=unit, basis=basis, source=source)

    @classmethod
    def bell(
        cls, middle: float, spread: float, unit: str, basis: Basis, source: str, least: float = 0.0
    ) -> Band:
        """A value with its standard uncertainty.

        Parameters
        ----------
        middle, spread : float [unit]
        unit : str
        basis : Basis
        source : str
        least : float [unit]
            What cannot be is cut off below it.

        Returns
        -------
        Band
        """
        if not spread > 0.0:
            return cls.fixed(middle, unit, basis, source)
        return cls(low=middle - spread, high=middle + spread, form=Form.BELL, unit=unit,
                   basis=basis, source=source, least=least)  # fmt: skip

    def at(self, share: Floats) -> Floats:
        """The value below which a share of the band lies.

        Parameters
        ----------
        share : ndarray, any shape [1]
            0 to 1.

        Returns
        -------
        ndarray, same shape [unit]
        """
        if self.form is Form.FIXED:
            return np.full(np.shape(share), self.low)
        if self.form is Form.EVEN:
            return self.low + (self.high - self.low) * share
        if self.form is Form.EVEN_IN_LOG:
            return self.low * np.exp(math.log(self.high / self.low) * share)
        middle, spread = 0.5 * (self.low + self.high), 0.5 * (self.high - self.low)
        cut = float(ndtr((self.least - middle) / spread))
        inside = np.clip(cut + (1.0 - cut) * share, _EDGE, 1.0 - _EDGE)
        return np.asarray(middle + spread * ndtri(inside), dtype=np.float64)

    @property
    def middle(self) -> float:
        """The median [unit]."""
        return float(self.at(np.array([0.5]))[0])


def drawn(bands: Mapping[str, Band], shares: Floats) -> dict[str, Floats]:
    """Values of every input for rows of numbers between 0 and 1.

    Parameters
    ----------
    bands : mapping of str to Band
        d inputs, in the order of the columns.
    shares : ndarray, shape (m, d) [1]

    Returns
    -------
    dict of str to ndarray, shape (m,) [unit of each]
    """
    return {name: band.at(shares[:, k]) for k, (name, band) in enumerate(bands.items())}


def shown(bands: Mapping[str, Band]) -> tuple[InputBand, ...]:
    """The bands as records, for the answer.

    Parameters
    ----------
    bands : mapping of str to Band

    Returns
    -------
    tuple of InputBand
    """
    found: list[InputBand] = []
    for name, band in bands.items():
        low, middle, high = (float(v) for v in band.at(np.array(_OUTER)))
        found.append(
            InputBand(name=name, unit=band.unit, low=low, middle=middle, high=high,
                      basis=band.basis, source=band.source)
        )  # fmt: skip
    return tuple(found)
