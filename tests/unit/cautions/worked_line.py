"""What the tests of printed lines share: one line as it must be printed, and how it is compared."""

from __future__ import annotations

from dataclasses import dataclass, field

from aerode.cautions.engine import assess
from aerode.cautions.situation import (
    Air,
    CellPlan,
    Heating,
    Polymer,
    Situation,
)
from aerode.records.adapter import read, write_whole
from aerode.records.cautions import Caution

ZERO = 273.15
HOUR = 3600.0
CLOSED = Air(name="closet", volume=40.0, airing="closed room")
FRESH = Air(name="shop", volume=50.0, air_changes=2 / HOUR)
YARD = Air(name="yard", airing="open air")
BRINE = "sodium chloride"
LYE = "potassium hydroxide"
WANTS = "1 % by volume, 25 % of 4 %"
DRY_RULE = "1 % of the coating or 0.5 mg/cm² in 10 min"


@dataclass(frozen=True, kw_only=True)
class Line:
    """One caution as it must be printed."""

    situation: Situation
    key: str
    level: str
    finding: str = "plain caution"
    headline: str = ""
    figure: str = ""
    limit: str = ""
    missing: tuple[str, ...] = ()
    unverified: bool = False
    sources: tuple[str, ...] = ()
    words: tuple[str, ...] = field(default=())
    """Further words of what to do, of the basis, and of what would change it."""


def cell(name: str = "C", **more: object) -> CellPlan:
    """A brine cell of 42 cm2."""
    plain = {"salt": BRINE, "aluminium_area": 0.0042, **more}
    return CellPlan(name=name, **plain)  # pyright: ignore[reportArgumentType]


def heated(celsius: float | None, *polymers: Polymer, **more: object) -> Situation:
    """Something under a plate."""
    plate = None if celsius is None else ZERO + celsius
    heating = Heating(name="p", plate_temperature=plate, **more)  # pyright: ignore[reportArgumentType]
    return Situation(about=("X",), polymers=polymers, heatings=(heating,))


def keys(caution: Caution) -> tuple[str, ...]:
    """The short keys of its sources."""
    return tuple(s.rsplit("[", 1)[1].split("]", 1)[0] if "[" in s else s for s in caution.source)


def check(line: Line) -> None:
    """Level, finding, figure, limit, what is missing and what it rests on, to the printed digit."""
    found = next((c for c in assess(line.situation) if c.key == line.key), None)
    assert found is not None, [c.key for c in assess(line.situation)]
    assert (found.level.value, found.finding.value) == (line.level, line.finding)
    assert found.headline == line.headline
    assert (found.figure, found.limit) == (line.figure, line.limit)
    assert found.missing == line.missing
    assert found.unverified is line.unverified
    assert keys(found) == line.sources
    assert found.about == line.situation.about
    told = f"{found.do} {found.basis} {found.would_change}"
    assert [word for word in line.words if word not in told] == []
    assert read(Caution, write_whole(found)) == found
