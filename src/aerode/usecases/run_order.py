"""Draw the order in which electrodes are to be measured, with the control placed, and keep it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.run_order import draw_run_order
from aerode.records.electrodes import Electrode, Outcome, RecipeState

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from aerode.records.comparisons import Comparison
    from aerode.records.places import RunOrder
    from aerode.store.bench_file import BenchFile

__all__ = ["proposed_control", "run_order"]


def proposed_control(found: Comparison, known: Collection[str]) -> str:
    """The piece that a comparison would keep as control; "" where two others would not be left.

    Parameters
    ----------
    found : Comparison
        Of everything that was measured.
    known : collection of str
        The electrodes to choose from.
    """
    if len(known) < 3:
        return ""
    acts = (found.next_act, *found.later_acts)
    return next((one.control for one in acts if one is not None and one.control in known), "")


def run_order(
    bench: BenchFile,
    electrodes: Sequence[str] = (),
    *,
    session: str,
    seed: int,
    control: str = "",
    made: str = "",
    keep: bool = True,
) -> RunOrder:
    """The order of a session: random, with the control first, in the middle and last.

    Parameters
    ----------
    bench : BenchFile
        An open bench.
    electrodes : sequence of str
        Names; none for all whole electrodes of the bench.
    session : str
        The day or sitting it is for.
    seed : int [1]
        The same seed draws the same order.
    control : str
        Name of the control; "" takes the bench's own, where it has one.
    made : str
        Date, ISO 8601.
    keep : bool
        Whether to store it, so that the report can say it was drawn beforehand.

    Returns
    -------
    RunOrder

    Raises
    ------
    NotFoundError
        If an electrode is not on the bench.
    InputError
        With fewer than two electrodes.
    """
    known = bench.all(Electrode)
    own = next((e.name for e in known if e.control), "")
    placed = control or own
    if placed:
        bench.get(Electrode, placed)
    if electrodes:
        chosen = [bench.get(Electrode, name) for name in electrodes if name != placed]
    else:
        chosen = [e for e in known if e.name != placed and not e.control and _to_measure(e)]
    order = draw_run_order(
        [e.name for e in chosen],
        control=placed,
        recipes={e.name: recipe_of(e) for e in chosen},
        seed=seed,
        session=session,
        made=made,
    )
    if keep:
        bench.put(order, why=f"order of measuring for {session}, drawn with seed {seed}")
    return order


def _to_measure(electrode: Electrode) -> bool:
    return (
        electrode.outcome is Outcome.WHOLE and electrode.recipe_state is not RecipeState.BARE_MESH
    )
