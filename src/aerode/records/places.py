"""The room, the claim, and the bench itself."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Gt

from aerode.quantities import Unit
from aerode.records.marks import Condition, Entry, Moment, Name, record

__all__ = ["Airing", "Bench", "Claim", "LocalExhaust", "People", "Room", "RunOrder"]


class Airing(StrEnum):
    """A room in words, where no air change rate is known."""

    CLOSED = "closed room"
    WINDOW = "window ajar"
    OPEN_AIR = "open air"


class LocalExhaust(StrEnum):
    """How well a hood, hose or fan right at the wet thing takes its vapour to the outside."""

    NONE = "none"
    POOR = "poor"
    FAIR = "fair"
    GOOD = "good"
    EXCELLENT = "excellent"


class People(StrEnum):
    """Who is in the room: some cautions are for some of them."""

    ADULTS = "adults"
    CHILDREN = "children"
    CLASS = "class"
    PREGNANCY = "pregnancy possible"


@record
class Room:
    """Where the work is done."""

    name: Name
    volume: Annotated[Entry, Unit("m^3")] | None = None
    air_changes: Annotated[Entry, Unit("1/s")] | None = None
    airing: Airing | None = None
    local_exhaust: LocalExhaust | None = None
    oven_volume: Annotated[Entry, Unit("m^3")] | None = None
    """Free air volume of the oven that stands in it."""
    temperature: Annotated[Condition, Unit("K")] = Condition()
    humidity: Condition = Condition()
    people: tuple[People, ...] = (People.ADULTS,)
    note: str = ""


@record
class Claim:
    """What is to be shown, by how much, with how many builds, written down before the result."""

    name: Name
    question: str
    factor: str = ""
    response: str = "current density at a cell voltage"
    at: Annotated[float, Gt(0.0)] | None = None
    """The cell voltage [V] (or current density [A/m^2], as `response` says)."""
    margin: Annotated[float, Gt(1.0)] = 1.10
    """The smallest ratio worth having."""
    builds: Annotated[int, Ge(1)] | None = None
    looks: Annotated[int, Ge(1)] = 1
    made: Moment = ""
    note: str = ""


@record
class RunOrder:
    """The order in which electrodes are to be measured, drawn at random, control placed."""

    name: Name
    session: str
    electrodes: tuple[str, ...]
    control: str = ""
    seed: int
    made: Moment = ""


@record
class Bench:
    """The one record every bench file has: whose it is and what its money is."""

    name: Name = "bench"
    title: str
    currency: str = "EUR"
    scale: str = ""
    meter: str = ""
    note: str = ""
