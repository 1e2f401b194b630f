"""Which piece is read next, so that the order of the day does not run with the recipe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.run_order import worst_alignment
from aerode.records.places import RunOrder
from aerode.records.runs import RunSort

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.electrodes import Electrode
    from aerode.records.runs import Run
    from aerode.store.bench_file import BenchFile

__all__ = ["ReadNext", "read_next"]


@dataclass(frozen=True, slots=True)
class ReadNext:
    """The piece to read next, and in a short sentence why it is this one; "" where nothing hangs on it."""

    electrode: str
    why: str = ""


def read_next(
    bench: BenchFile,
    electrodes: Sequence[Electrode],
    runs: Sequence[Run],
    unread: Sequence[str],
) -> ReadNext:
    """Of the pieces without a run the one that balances the order best.

    An order that was drawn for the session goes first. Else recipes take turns: of those that wait
    the recipe with the fewest pieces read, of equals the one whose order of reading then runs least
    with the recipe, of equals the piece entered first. A control is on no side.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrodes : sequence of Electrode
        All that are looked at, oldest first.
    runs : sequence of Run
        Runs of load steps, in the order they were taken.
    unread : sequence of str
        Those without a run, oldest first; at least one.
    """
    drawn = _drawn(bench, unread)
    if drawn is not None:
        return drawn
    recipes = {one.name: recipe_of(one) for one in electrodes if not one.control}
    read = _read_in_order(runs, recipes)
    waiting = [name for name in unread if name in recipes]
    sides = {recipes[name] for name in [*read, *waiting]}
    if not waiting or len(sides) < 2:
        return ReadNext(unread[0])
    done = [recipes[name] for name in read]
    taken = min(waiting, key=lambda name: (done.count(recipes[name]), _alignment([*done, recipes[name]])))  # fmt: skip
    turn = bool(done) and any(recipes[name] == done[-1] != recipes[taken] for name in waiting)
    if not turn:
        return ReadNext(taken)
    said = f"{recipes[taken]} takes its turn after {done[-1]}, so that the day does not look like the recipe."  # fmt: skip
    return ReadNext(taken, said)


def _drawn(bench: BenchFile, unread: Sequence[str]) -> ReadNext | None:
    """The next one of the newest order that was drawn; None where it holds none of those that wait."""
    for order in bench.latest(RunOrder, count=1):
        following = next((name for name in order.electrodes if name in unread), None)
        if following is not None:
            return ReadNext(following, f"The order drawn for {order.session} puts it next.")
    return None


def _read_in_order(runs: Sequence[Run], recipes: dict[str, str]) -> list[str]:
    """The pieces that were read, each where it was read first."""
    loads = [one for one in runs if one.sort is RunSort.LOADS and one.readings and not one.control]
    ranked = sorted(loads, key=lambda one: (one.session, one.order or 0))
    return list(dict.fromkeys(one.electrode for one in ranked if one.electrode in recipes))


def _alignment(recipes: Sequence[str]) -> float:
    return round(worst_alignment(recipes, range(len(recipes))), 6)
