"""That the best recipe lies at the edge of what was read, and the step beyond it as a guess, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.records.next_batches import NextBuild
from aerode.usecases.next_mixes import mix_near, moved_shares, plate_of
from aerode.usecases.next_pots import pots_of, pots_words

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from aerode.measure.next_edge import Step
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.next_asked import Asked
    from aerode.usecases.next_mixes import NextMix

__all__ = ["Edge", "edge_of"]

_MOST = 2  # judgement
"""Steps that are offered."""
_UNLIKELY = 0.25  # judgement
"""Chance of being better below which a step is not spoken of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """What stands of the edge in an answer."""

    said: str = ""
    builds: tuple[NextBuild, ...] = ()


def edge_of(
    bench: BenchFile, best: str, steps: Sequence[Step], asked: Asked,
    refused: Callable[[dict[str, str], NextMix], str],
) -> Edge:  # fmt: skip
    """That the best recipe lies at the edge of what was read, with the likeliest steps beyond.

    Parameters
    ----------
    bench : BenchFile
    best : str
        The best recipe that was read.
    steps : sequence of Step
        The likeliest first.
    asked : Asked
    refused : callable
        Why settings may not be built, "" where they may.

    Returns
    -------
    Edge
        Empty where no step may be built, or none is likely to be better.
    """
    kept: list[tuple[Step, NextMix]] = []
    for one in steps:
        mix = moved_shares(bench, mix_near(bench, asked.read[best]), one.settings, asked.rest)
        if one.chance >= _UNLIKELY and not refused(one.settings, mix):
            kept.append((one, mix))
    if not kept:
        return Edge()
    at = ", ".join(f"{one.factor} {_range(one)}" for one, _ in kept)
    past = " or ".join(f"{one.factor} {'below' if one.below else 'above'} {one.edge}" for one, _ in kept)  # fmt: skip
    first, mix = kept[0]
    pots = pots_of(bench, [(mix, 1, plate_of(first.settings), asked.read[best])])
    cost = pots_words(bench, pots) if pots else "a pot"
    return Edge(
        said=f"the best recipe, {best}, is at the edge of what was read ({at}): whether {past} is better still, nothing read tells; "
        f"a build beyond costs {cost.replace(' in all', '')} and its readings",
        builds=tuple(_build(one, mix, best) for one, mix in kept[:_MOST]),
    )


def _range(one: Step) -> str:
    low, high = (one.edge, one.other) if one.below else (one.other, one.edge)
    return f"{low} to {high}"


def _build(one: Step, mix: NextMix, best: str) -> NextBuild:
    return NextBuild(
        settings=one.settings, builds=1, near=best, shares=mix.shares, ratio=one.ratio,
        interval_95=(one.low, one.high), chance_better=one.chance, beyond=(one.factor,),
    )  # fmt: skip
