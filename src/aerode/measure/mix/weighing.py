"""What a scale can weigh, and how far it may be off."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import InputError, RangeError
from aerode.records.instruments import Sort

if TYPE_CHECKING:
    from aerode.records.instruments import Instrument

__all__ = ["WEIGHABLE_WITHIN", "Scale"]

WEIGHABLE_WITHIN = 0.05
"""A dose is weighable where its relative standard uncertainty is at most this.

Judgement, no source: one twentieth of a component is what the spread between builds hides.
"""
# A kitchen scale of 0.01 g is good to ±0.02 g, one of 0.1 g to ±0.2 g: two steps. Common practice.
_STEPS_OF_ERROR = 2.0
_LARGEST_STEP = 0.05  # [kg]; anything coarser is a bathroom scale or a slip of units; judgement


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """A scale: its step and the limit of its error, both [kg]; `assumed` if the limit is a class's."""

    name: str
    resolution: float
    limit_of_error: float
    assumed: bool = False

    def __post_init__(self) -> None:
        if not (math.isfinite(self.resolution) and 0 < self.resolution <= _LARGEST_STEP):
            raise RangeError(
                f"a scale with steps of {self.resolution * 1e3:g} g",
                where=f"scale {self.name!r}",
                allowed=f"above 0, at most {_LARGEST_STEP * 1e3:g} g",
                next_step="type the smallest step of the display, as in 0.01 g",
            )
        if not (math.isfinite(self.limit_of_error) and self.limit_of_error >= 0):
            raise RangeError(
                "a limit of error below 0", where=f"scale {self.name!r}", allowed="0 g or more"
            )

    @classmethod
    def from_text(cls, text: str) -> Scale:
        """A scale from the step of its display.

        Parameters
        ----------
        text : str
            "0.01 g"; a bare number is grams.

        Returns
        -------
        Scale
            With the limit of error of its class, two steps.

        Raises
        ------
        UnitError
            No mass there.
        RangeError
            Not the step of a bench scale.

        Examples
        --------
        >>> Scale.from_text("0.01 g").limit_of_error * 1e3
        0.02
        """
        step = units.read(text, "kg", field="scale").value
        shown = units.write(step, "kg", to="g", digits=1) if step > 0 else text
        return cls(name=shown, resolution=step, limit_of_error=_STEPS_OF_ERROR * step, assumed=True)

    @classmethod
    def from_instrument(cls, instrument: Instrument) -> Scale:
        """A scale from the bench.

        Parameters
        ----------
        instrument : Instrument
            Of the sort `scale`, with the step of its display.

        Returns
        -------
        Scale
            With its own limit of error, or two steps where none was entered.

        Raises
        ------
        InputError
            It is another sort of instrument, or its step was not entered.
        """
        if instrument.sort is not Sort.SCALE:
            raise InputError(
                f"{instrument.name!r} is a {instrument.sort.value}",
                where="scale",
                allowed="an instrument of the sort scale, or the step of one, as in 0.01 g",
            )
        if instrument.resolution is None:
            raise InputError(
                f"the step of scale {instrument.name!r} was not entered",
                where="scale",
                next_step="enter the smallest step of its display, as in 0.01 g",
            )
        limit = instrument.limit_of_error
        assumed = limit is None or instrument.assumed
        if limit is None:
            limit = _STEPS_OF_ERROR * instrument.resolution
        return cls(
            name=instrument.name,
            resolution=instrument.resolution,
            limit_of_error=limit,
            assumed=assumed,
        )

    @property
    def reading_uncertainty(self) -> float:
        """Standard uncertainty of one reading from its last digit, step/√12 [kg] (GUM 4.3.7)."""
        return self.resolution / math.sqrt(12.0)  # rectangular width, by definition

    @property
    def limit_uncertainty(self) -> float:
        """Standard uncertainty behind the limit of error, limit/√3 [kg] (GUM 4.3.7)."""
        return self.limit_of_error / math.sqrt(3.0)

    @property
    def net_uncertainty(self) -> float:
        """Standard uncertainty of a net mass: two readings (empty, full) and the limit [kg]."""
        return math.hypot(math.sqrt(2.0) * self.reading_uncertainty, self.limit_uncertainty)

    def least(self, within: float = WEIGHABLE_WITHIN) -> float:
        """The least net mass whose relative standard uncertainty is `within` [kg].

        Parameters
        ----------
        within : float
            Relative standard uncertainty that is still taken, above 0 [1].

        Returns
        -------
        float
            In whole steps of the display [kg].

        Examples
        --------
        >>> round(Scale.from_text("0.01 g").least(0.05) * 1e3, 2)
        0.25
        """
        steps = self.net_uncertainty / within / self.resolution
        return math.ceil(steps - 1e-9) * self.resolution  # numerical

    def rounded(self, mass: float) -> float:
        """The mass to the nearest step of the display [kg]."""
        return round(mass / self.resolution) * self.resolution

    @property
    def shown(self) -> str:
        """The scale in words: name, step and limit."""
        step, limit = self.resolution * 1e3, self.limit_of_error * 1e3
        return f"{self.name}: steps of {step:g} g, ±{limit:g} g" + (
            " assumed" if self.assumed else ""
        )
