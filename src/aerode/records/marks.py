"""What all records share: the decorator, the entered value, the three states of a condition."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated, Any, TypeVar, dataclass_transform

from annotated_types import Ge, Le, MaxLen, MinLen

__all__ = [
    "Condition",
    "Entry",
    "Fraction",
    "Gone",
    "Known",
    "Left",
    "Moment",
    "Name",
    "NotNegative",
    "Share",
    "record",
]

T = TypeVar("T")

Name = Annotated[str, MinLen(1), MaxLen(80)]
"""The short name on the label: "T6", "biochar A", "meter 1"; unique within its kind."""
NotNegative = Annotated[float, Ge(0.0)]
Fraction = Annotated[float, Ge(0.0), Le(1.0)]
"""Mass fraction, 0 to 1."""
Moment = Annotated[str, MaxLen(40)]
"""A date or a date with time, ISO 8601; "" where it was not noted."""


@dataclass_transform(frozen_default=True, kw_only_default=True, field_specifiers=(field,))
def record(cls: type[T]) -> type[T]:
    """A frozen, keyword-only dataclass that refuses unknown fields, NaN and infinity when read."""
    made: Any = dataclass(frozen=True, kw_only=True)(cls)
    made.__pydantic_config__ = {"extra": "forbid", "allow_inf_nan": False}
    return made


class Known(StrEnum):
    """How well a condition is known. Only the third blocks a comparison."""

    MEASURED = "measured"
    SAME = "same for all, not measured"
    MAY_DIFFER = "may differ"


@record
class Entry:
    """A value that a person entered, in SI, with what is known about it.

    `how` names the way ("photo", "ruler", "oven, 2 h"), `text` keeps what was typed, and
    `published` names the sheet or label where the value was read and not measured.
    """

    value: float
    standard_uncertainty: NotNegative | None = None
    how: str = ""
    text: str = ""
    published: str = ""


@record
class Condition:
    """A condition of a run: measured, the same for all though not measured, or free to differ."""

    known: Known = Known.MAY_DIFFER
    value: float | None = None
    standard_uncertainty: NotNegative | None = None
    how: str = ""
    text: str = ""

    def __post_init__(self) -> None:
        if self.known is Known.MEASURED and self.value is None:
            raise ValueError("a measured condition needs its value")


@record
class Share:
    """A named part of a whole, as a mass fraction."""

    of: Name
    fraction: Fraction


class Left(StrEnum):
    """How a thing left the shelf."""

    USED_UP = "used up"
    THROWN_AWAY = "thrown away"
    BROKEN = "broken or lost"


@record
class Gone:
    """A thing that stands on the shelf no more; what was made or measured with it keeps its figures."""

    how: Left
    on: Moment = ""
    note: str = ""
