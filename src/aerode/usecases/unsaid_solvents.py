"""Dissolved plastics of which nobody said what they are dissolved in: no caution of their vapour can be judged."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.materials import Solution
from aerode.records.mixes import Ingredient

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.mixes import Mix
    from aerode.store.bench_file import BenchFile

__all__ = ["SAY_IT", "unsaid_solvents", "why_say_it"]

SAY_IT = "say what the plastic is dissolved in"
"""The act, as the first page and the page of a mix name it."""


def unsaid_solvents(bench: BenchFile, mixes: Sequence[Mix]) -> tuple[str, ...]:
    """The solutions of these mixes that name no liquid, each once, in the order of the mixes.

    A dispersion is left out (its liquid is water), and so is a solution that is gone.

    Parameters
    ----------
    bench : BenchFile
        Open.
    mixes : sequence of Mix
    """
    poured = [one.of for mix in mixes for one in mix.portions if one.shelf is Ingredient.SOLUTION]
    named = dict.fromkeys([*poured, *(share.of for mix in mixes for share in mix.wanted)])
    found = [bench.find(Solution, name) for name in named]
    return tuple(one.name for one in found if one and not one.liquid and not one.dispersed and one.gone is None)  # fmt: skip


def why_say_it(mix: str) -> str:
    """Why it is to be said before a pot of this mix is weighed.

    >>> why_say_it("T5").partition(".")[0]
    'T5 holds it'
    """
    return (
        f"{mix} holds it. What can be breathed or burn while it dries hangs on the solvent: "
        "say it before the jar is open."
    )
