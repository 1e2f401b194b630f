"""A number that says what it rests on: value, standard uncertainty, basis, source, and a reason where there is none."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from aerode import units

__all__ = ["Basis", "Quantity", "Reason", "Unit"]


@dataclass(frozen=True, slots=True)
class Unit:
    """The mark of a field's unit: `Annotated[float, Unit("V")]`. It also stands in the JSON Schema."""

    symbol: str

    def __get_pydantic_json_schema__(self, core_schema: Any, handler: Any) -> dict[str, Any]:
        schema: dict[str, Any] = dict(handler(core_schema))
        schema["unit"] = self.symbol
        return schema


class Basis(StrEnum):
    """What a number rests on. Measured, predicted and assumed never share a column."""

    MEASURED = "measured"
    PREDICTED = "predicted"
    ASSUMED = "assumed"
    PUBLISHED = "published"


class Reason(StrEnum):
    """Why there is no number: what happened, what it usually means, what to do next."""

    NOT_MEASURED = "not measured; measure it, or leave it out of what is claimed"
    AREA_MISSING = (
        "no wetted area is known, so nothing can be given per square centimetre; "
        "measure it with a ruler or a photo and enter it"
    )
    TOO_FEW_POINTS = (
        "too few readings to tell; usually fewer than five usable loads; "
        "measure more loads, spread evenly from the largest to the smallest resistor"
    )
    TOO_FEW_BUILDS = (
        "fewer than two separately built electrodes of any recipe, so the spread between builds is unknown; "
        "build one more of a recipe you have"
    )
    PRIOR_KEPT = (
        "the readings do not change what was assumed beforehand; "
        "usually the loads that would show it were not measured"
    )
    LIMIT_NOT_REACHED = (
        "the current stayed too far below the limiting current to show it; "
        "a smaller resistor may show it, unless resistance uses up the voltage first"
    )
    OUT_OF_RANGE = (
        "outside the range that was measured; measure a load beyond it, "
        "or ask for a value inside the range"
    )
    NOT_CONVERGED = (
        "the calculation did not settle on one answer; usually a reading is wrong or the curve is not one; "
        "look at the readings for a slip"
    )
    SAMPLER_POOR = (
        "too few effective samples for an honest interval; usually too few or contradictory readings; "
        "repeat the measurement with more loads"
    )
    BEYOND_LIMIT = "beyond the limiting current of this electrode: no steady state exists there; ask for a smaller current"
    DEPLETED = "oxygen is used up inside the layer before this point; ask for a smaller current or a thinner layer"
    NOT_SOLVED = (
        "the equations of the layer were not solved here, though a steady state may exist: "
        "reaction and oxygen change too steeply in depth; ask for another current, "
        "or leave the reverse reaction out"
    )
    RUNS_BACK = (
        "unequal oxygen at the two faces drives part of the layer backwards or to a standstill, "
        "which this calculation does not hold; leave out the reverse reaction or one of the two supplies"
    )
    MAY_DIFFER = (
        "a condition that may differ between the sides was not measured; "
        "measure it on both, or repeat one side under the other's conditions"
    )
    SHARED_UNKNOWN = (
        "a shared error of unknown size does not cancel here; measure the shared part once"
    )
    NO_SOURCE = "no published figure on file; look it up in the safety data sheet or the supplier's sheet and enter it"
    OUTSIDE_VALIDITY = "outside the range in which the published figure holds; it is not extended"
    RECIPE_UNKNOWN = (
        "the recipe is not known (bought or borrowed), so nothing can be computed from it"
    )
    ALIGNED = (
        "the recipe and the order of measuring changed together, so they cannot be told apart; "
        "measure one electrode of the first group again at the end"
    )
    WITHHELD = "withheld by its owner"


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A value with its standard uncertainty, or the reason why there is none.

    Either `value` is a finite number, or it is None and `reason` says why. `interval_95` may be
    given where the distribution is not near normal.
    """

    value: float | None
    unit: str
    standard_uncertainty: float | None = None
    interval_95: tuple[float, float] | None = None
    basis: Basis = Basis.MEASURED
    source: str = ""
    reason: str | None = None

    def __post_init__(self) -> None:
        if self.value is None:
            if not self.reason:
                raise ValueError("a quantity without a value needs a reason")
        elif not math.isfinite(self.value):
            raise ValueError(f"a quantity must be finite, not {self.value}")
        if self.standard_uncertainty is not None and not (
            math.isfinite(self.standard_uncertainty) and self.standard_uncertainty >= 0
        ):
            raise ValueError(
                f"a standard uncertainty must be finite and not negative, not {self.standard_uncertainty}"
            )

    @classmethod
    def missing(cls, unit: str, reason: Reason | str, *, basis: Basis = Basis.MEASURED) -> Quantity:
        """No number, and why."""
        return cls(value=None, unit=unit, reason=str(reason), basis=basis)

    def written(self, to: str = "", digits: int = 3) -> str:
        """For people: "0.742 ± 0.006 V", or the reason in words."""
        if self.value is None:
            return f"not given: {self.reason}"
        return units.write(self.value, self.unit, self.standard_uncertainty, to=to, digits=digits)
