"""Which piece is read next, so that the order of the day does not run with the recipe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.run_order import worst_alignment
from aerode.measure.run_readings import remaining_loads
from aerode.records.electrodes import Electrode, RecipeState
from aerode.records.places import RunOrder
from aerode.records.runs import Run, RunSort
from aerode.usecases.newest_pieces import RECENT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.store.bench_file import BenchFile

__all__ = ["TURNS", "InTurn", "ReadNext", "in_turn", "read_next", "reading_order"]

TURNS = "recipes take turns, so that the day cannot be what differs"
"""Why the pieces of one recipe are not read in a row; the same words wherever it is said."""


@dataclass(frozen=True, slots=True)
class ReadNext:
    """The piece to read next, and in a short sentence why it is this one; "" where nothing hangs on it."""

    electrode: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class InTurn:
    """The piece whose turn it is, where the order of reading matters."""

    electrode: str
    run: str = ""
    """Its run that is open already, with no reading yet; "" where none is."""
    first: str = ""
    """A run that has been begun and is to be finished first; "" where none is."""
    why: str = TURNS

    @property
    def words(self) -> str:
        """A sentence without its point: "In turn next: B1 (recipes take turns, ...)"."""
        head = f"Finish {self.first} first; in turn next" if self.first else "In turn next"
        return f"{head}: {self.electrode} ({self.why})"


def in_turn(bench: BenchFile) -> InTurn | None:
    """Whose turn it is; None where no two recipes are on the bench, or nothing waits.

    A piece waits until its run has a reading, whether the run is open already or not.

    Parameters
    ----------
    bench : BenchFile
        Open.
    """
    electrodes = bench.latest(Electrode, count=RECENT)[::-1]
    newest = bench.latest(Run, count=4 * RECENT)[::-1]
    runs = [run for run in newest if run.sort is RunSort.LOADS]
    return _turn(bench, electrodes, runs)


def _turn(bench: BenchFile, electrodes: Sequence[Electrode], runs: Sequence[Run]) -> InTurn | None:
    begun = {run.electrode for run in runs if run.readings}
    unread = [one.name for one in electrodes if one.name not in begun and to_be_read(one)]
    known = {recipe_of(one) for one in electrodes if not one.control and (to_be_read(one) or one.name in begun)}  # fmt: skip
    if not unread or len(known) < 2:
        return None
    drawn = _drawn(bench, unread)
    piece = drawn.electrode if drawn else reading_order(bench, electrodes, runs, unread)[0]
    own = [run for run in runs if run.planned_loads and not run.finished]
    waiting = next((run.name for run in own if run.electrode == piece and not run.readings), "")
    going = next((run.name for run in own if run.readings and remaining_loads(run)), "")
    why = drawn.why[:1].lower() + drawn.why[1:].removesuffix(".") if drawn else TURNS
    return InTurn(piece, waiting, going, why)


def to_be_read(piece: Electrode) -> bool:
    """Whether a piece is one to measure: not bare mesh, and nothing happened to it."""
    return piece.recipe_state is not RecipeState.BARE_MESH and not piece.outcome_note


def reading_order(
    bench: BenchFile,
    electrodes: Sequence[Electrode],
    runs: Sequence[Run],
    unread: Sequence[str],
) -> tuple[str, ...]:
    """The pieces that wait in the order in which they balance the day best; parameters as of `read_next`."""
    order: list[str] = []
    drawn = next((one.electrodes for one in bench.latest(RunOrder, count=1)), ())
    left = [*dict.fromkeys(name for name in drawn if name in unread)]
    order += left
    recipes = {one.name: recipe_of(one) for one in electrodes if not one.control}
    done = [recipes[name] for name in (*_read_in_order(runs, recipes), *order) if name in recipes]
    waiting = [name for name in unread if name in recipes and name not in order]
    while waiting:
        taken = _balancing(waiting, done, recipes)
        order.append(taken)
        done.append(recipes[taken])
        waiting.remove(taken)
    return (*order, *(name for name in unread if name not in order))


def _balancing(waiting: Sequence[str], done: Sequence[str], recipes: dict[str, str]) -> str:
    return min(waiting, key=lambda name: (done.count(recipes[name]), _alignment([*done, recipes[name]])))  # fmt: skip


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
    taken = _balancing(waiting, done, recipes)
    turn = bool(done) and any(recipes[name] == done[-1] != recipes[taken] for name in waiting)
    if not turn:
        return ReadNext(taken)
    return ReadNext(taken, f"{TURNS[0].upper()}{TURNS[1:]}.")


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
