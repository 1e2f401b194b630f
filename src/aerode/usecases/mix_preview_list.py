"""The mixes of a bench, newest first, each with what it dries to in a line; and that as a figure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import AerodeError
from aerode.measure.mix.answer import dried
from aerode.measure.mix.dry_names import named_shares
from aerode.measure.mix.weighing import Scale
from aerode.records.figures import Axis, Dash, Figure, Mark, Series
from aerode.records.figures import Scale as AxisScale
from aerode.records.mixes import Batch, Mix
from aerode.usecases.mix import shelf_of

if TYPE_CHECKING:
    from aerode.records.doses import DryPart, MixAnswer
    from aerode.records.results import Estimate
    from aerode.store.bench_file import BenchFile

__all__ = ["MixLine", "MixList", "composition_figure", "list_mixes"]

_SCALE = "0.01 g"
_SHOWN = 5  # judgement: as many parts as fit in two lines of a phone
_SIGMAS = 1.96  # standard normal, 0.975 quantile, tabulated


@dataclass(frozen=True, slots=True, kw_only=True)
class MixLine:
    """One mix: what it dries to, in a line; how many pots were made of it."""

    name: str
    dries_to: str
    solids: str
    pots: int
    after: str
    weighed: bool
    """Whether the amounts of the mix, or of a pot of it, were noted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MixList:
    """Some of the mixes, newest first, and how many there are."""

    lines: tuple[MixLine, ...]
    total: int
    skip: int
    count: int


def list_mixes(bench: BenchFile, *, count: int = 30, skip: int = 0) -> MixList:
    """The mixes of a bench, newest first.

    Parameters
    ----------
    bench : BenchFile
        Open.
    count, skip : int
        How many, and how many newer ones to leave out.

    Returns
    -------
    MixList
        A mix that cannot be worked out says why in its line.
    """
    shelf, scale = shelf_of(bench), Scale.from_text(_SCALE)
    lines: list[MixLine] = []
    for mix in bench.latest(Mix, count=count, skip=skip):
        try:
            composition = dried(mix, shelf, scale)
        except AerodeError as error:
            told, solids = f"cannot be worked out: {error.what}", ""
        else:
            shares = list(named_shares(composition).items())
            said = [f"{100 * share:.0f} % {name}" for name, share in shares[:_SHOWN]]
            more = len(shares) - _SHOWN
            told = ", ".join(said) + (f" and {more} more" if more > 0 else "")
            solids = f"{100 * composition.value('solids'):.0f} % solids wet"
        pots = bench.all(Batch, of=mix.name)
        lines.append(
            MixLine(
                name=mix.name, dries_to=told, solids=solids, pots=len(pots), after=mix.after,
                weighed=bool(mix.portions) or any(pot.portions for pot in pots),
            )
        )  # fmt: skip
    return MixList(lines=tuple(lines), total=bench.count(Mix), skip=skip, count=count)


def composition_figure(found: MixAnswer) -> Figure:
    """What a mix dries to: the share of each part by mass and by volume, with 95 % intervals.

    Parameters
    ----------
    found : MixAnswer

    Returns
    -------
    Figure
        One row for each dry part, the largest on top.
    """
    parts = sorted(found.dry, key=lambda part: -(part.mass_fraction.value or 0.0))
    by_mass = _points(parts, [part.mass_fraction for part in parts], "by mass", -0.14)
    by_volume = _points(parts, [part.volume_fraction for part in parts], "by volume", 0.14)
    said = "; ".join(
        f"{_called(part)} {100 * (part.mass_fraction.value or 0.0):.0f} % by mass" for part in parts
    )
    without = [_called(part) for part in parts if part.volume_fraction.value is None]
    lacks = f" No volume for {', '.join(without)}: a density is missing." if without else ""
    return Figure(
        name="dry-composition",
        title=f"What {found.mix} dries to",
        x=Axis(title="Share of the dry coat", unit="%", low=0.0),
        y=Axis(title="", scale=AxisScale.NAMES, names=tuple(_called(part) for part in parts)),
        series=tuple(series for series in (by_mass, by_volume) if series.x),
        caption=f"With 95 % intervals, of weighing, moisture and solids.{lacks}",
        alt=f"Shares of the dry coat, largest first: {said}.",
    )


def _points(parts: list[DryPart], shares: list[Estimate], label: str, off: float) -> Series:
    """The known shares as points with bars, a little above or below the line of their name."""
    known = [(row + off, share) for row, share in enumerate(shares) if share.value is not None]
    values = [100 * (share.value or 0.0) for _, share in known]
    ends = [_ends(share) for _, share in known]
    mass = off < 0
    return Series(
        label=label,
        x=tuple(values),
        y=tuple(row for row, _ in known),
        x_low=tuple(100 * low for low, _ in ends),
        x_high=tuple(100 * high for _, high in ends),
        mark=Mark.CIRCLE if mass else Mark.SQUARE,
        dash=Dash.NONE,
        tone=0 if mass else 1,
    )


def _ends(share: Estimate) -> tuple[float, float]:
    """The 95 % interval of a share: never below 0, never above the whole."""
    if share.interval_95 is not None:
        return share.interval_95
    value, spread = share.value or 0.0, _SIGMAS * (share.standard_uncertainty or 0.0)
    return max(0.0, value - spread), min(1.0, value + spread)


def _called(part: DryPart) -> str:
    if part.function == "plasticiser" and part.substance != "not named":
        return part.substance
    return part.name or part.of
