"""A bench with one recipe only: the mix that is made beside it, and what its builds tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.comparison.entrants import recipe_of
from aerode.records.comparisons import Comparison, Verdict
from aerode.records.mixes import Mix

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.electrodes import Electrode
    from aerode.store.bench_file import BenchFile

__all__ = ["WHY_SECOND_MIX", "builds_apart", "mix_alone", "room_left"]

WHY_SECOND_MIX = (
    "All pieces here are of one recipe, and those only tell how builds scatter. "
    "Change one thing in the copy: what differs then is known."
)
"""Why a second mix comes next; the same words wherever it is said."""
_NUMBERS = {2: "Two", 3: "Three", 4: "Four", 5: "Five", 6: "Six"}


def mix_alone(bench: BenchFile, electrodes: Sequence[Electrode]) -> str:
    """The mix that all pieces are made of, none of them made otherwise; "" where there is none.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrodes : sequence of Electrode
        All that are looked at. Pieces whose settings differ are compared already, so they do not count.
    """
    own = [one for one in electrodes if not one.control]
    recipes = {recipe_of(one) for one in own}
    if len(recipes) != 1 or any(one.factors != own[0].factors for one in own):
        return ""
    poured = [layer.mix for one in own for layer in one.layers if layer.mix]
    named = (*recipes, *poured)
    return next((name for name in named if bench.find(Mix, name) is not None), "")


def builds_apart(found: Comparison) -> str:
    """How far the builds of one recipe lie apart, in a sentence; "" where they are of several, or blocked.

    Parameters
    ----------
    found : Comparison
        Of pieces.
    """
    if found.verdict is Verdict.BLOCKED or found.effects:
        return ""
    told = {one.build: one.fair.value for one in found.pieces if one.fair.value and not (one.control or one.left_out)}  # fmt: skip
    recipes = {one.recipe for one in found.pieces if not (one.control or one.left_out)}
    if len(told) < 2 or len(recipes) != 1:
        return ""
    values = list(told.values())
    apart = 100.0 * (max(values) / min(values) - 1.0)
    size = "less than 1 %" if apart < 1.0 else f"{apart:.0f} %"
    lie = f"lie {size} apart" if len(told) == 2 else f"lie within {size} of each other"
    return f"{_NUMBERS.get(len(told), len(told))} builds of {recipes.pop()} {lie}: that is how builds scatter"  # fmt: skip


def room_left(found: Comparison) -> str:
    """What the errors of the readings leave open of that, in a sentence; "" where it cannot be told."""
    if found.interval is None or not found.primary:
        return ""
    low, high = found.interval
    return f"With the errors of the readings, {found.primary} may be {low:.2f} to {high:.2f}."
