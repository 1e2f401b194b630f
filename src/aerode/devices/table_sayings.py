"""What a person says of a table, or said the last time: it goes before what the reader finds."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from aerode.devices.table_moments import ORDERS
from aerode.errors import TableError

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["CLOCKS", "Saying"]

CLOCKS = ("refuse", "go on")
"""What is done with rows after the clock has gone backwards: they are refused, or the clock is
taken to have been set back, and the run goes on with the step it had."""


@dataclass(frozen=True, slots=True)
class Saying:
    """Everything that can be said of a table; each is empty where nothing is said.

    `mapping` is quantity → heading, or column number from 1; `units` quantity → unit; `dates` one
    of `aerode.devices.table_moments.ORDERS`; `clock` one of `CLOCKS`.
    """

    mapping: Mapping[str, str | int] = field(default_factory=dict[str, str | int])
    units: Mapping[str, str] = field(default_factory=dict[str, str])
    decimal: str = ""
    delimiter: str = ""
    encoding: str = ""
    dates: str = ""
    clock: str = ""

    def __post_init__(self) -> None:
        for what, said, allowed in (
            ("order of day, month and year", self.dates, ORDERS),
            ("way with a clock that goes backwards", self.clock, CLOCKS),
            ("decimal mark", self.decimal, (".", ",")),
        ):
            if said and said not in allowed:
                raise TableError(
                    f"{said!r} is no {what}", allowed=", ".join(repr(one) for one in allowed)
                )
