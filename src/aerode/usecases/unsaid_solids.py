"""Jars of which nobody said how much solid they hold: nothing made of them can be worked out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.materials import Solution
from aerode.records.mixes import Ingredient

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.mixes import Mix
    from aerode.store.bench_file import BenchFile

__all__ = ["WHY_SOLIDS", "is_unsaid", "unsaid_solids"]

WHY_SOLIDS = (
    "How much plastic is in the jar says how much of the jar goes into a mix. "
    "Its label will do to begin with; three dried dishes tell it better."
)
"""Why it is to be said; the same words wherever it is said."""


def is_unsaid(lot: Solution) -> bool:
    """Whether neither a dish, nor a measured share, nor the label says the solids of a jar."""
    return not lot.dishes and lot.solids is None and lot.label_solids is None


def unsaid_solids(bench: BenchFile, mixes: Sequence[Mix]) -> tuple[str, ...]:
    """The jars of these mixes whose solids nobody said, each once, in the order of the mixes.

    Parameters
    ----------
    bench : BenchFile
        Open.
    mixes : sequence of Mix
    """
    poured = [one.of for mix in mixes for one in mix.portions if one.shelf is Ingredient.SOLUTION]
    named = dict.fromkeys([*poured, *(share.of for mix in mixes for share in mix.wanted)])
    found = [bench.find(Solution, name) for name in named]
    return tuple(one.name for one in found if one and is_unsaid(one))
