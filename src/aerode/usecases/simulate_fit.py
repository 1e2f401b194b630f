"""The porous cathode fitted to a measured run of an electrode, beside the plain curve.

It stands with `simulate` and not with `fit`: its prior is the recipe, so it needs the item of the
bench, its electrolyte and whatever is known better, while `fit` reads a bare table as well.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from aerode.errors import CannotTellError, NotFoundError
from aerode.measure.porous.fit_answer import porous_fit
from aerode.measure.porous.fitting import FEWEST_LOADS, PorousRun, rest_resistance
from aerode.measure.porous.recipe import recipe_columns
from aerode.measure.porous.streaming import no_steps
from aerode.measure.readings import read_run
from aerode.quantities import Reason
from aerode.records.instruments import Instrument
from aerode.usecases.run_cells import cell_of_bench_run
from aerode.usecases.simulate_bench import Item, item_of

if TYPE_CHECKING:
    from aerode.measure.run_data import RunData
    from aerode.records.runs import Run
    from aerode.records.simulations import PorousFit
    from aerode.store.bench_file import BenchFile

__all__ = ["run_for_fit", "simulate_fit"]


def simulate_fit(
    bench: BenchFile,
    name: str,
    *,
    run: str = "",
    electrolyte: str = "",
    temperature: str = "",
    known: tuple[str, ...] = (),
    seed: int = 1,
    step: Callable[[str, float], None] = no_steps,
) -> PorousFit:
    """What a run tells of the inside of an electrode, and whether the porous model is worth having.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of an electrode with a run of load steps.
    run : str
        Which run; its last one if left out.
    electrolyte, temperature, known : str, str, tuple of str
        As for `item_of`.
    seed : int
        Of the dice.
    step : callable
        Told how far it is.

    Returns
    -------
    PorousFit

    Raises
    ------
    NotFoundError
        No such electrode or run.
    CannotTellError
        No run, no wetted area, or too few loads.
    """
    item = item_of(bench, name, electrolyte=electrolyte, temperature=temperature, known=known)
    _, found = run_for_fit(bench, item, run)
    return porous_fit(found, seed=seed, step=step)[0]


def run_for_fit(bench: BenchFile, item: Item, name: str) -> tuple[Run, PorousRun]:
    """The run of an item, and its readings with what the recipe says of it.

    Parameters
    ----------
    bench : BenchFile
        Open.
    item : Item
    name : str
        Of the run; if "", the last one that has loads enough, else the last one.

    Returns
    -------
    tuple of Run and PorousRun

    Raises
    ------
    NotFoundError
        It has no run of that name.
    CannotTellError
        It has no run at all, or no wetted area is known.
    """
    if not item.runs:
        raise CannotTellError(
            "no run of load steps to fit", where=item.layer.item,
            allowed="an electrode with a measured run",
            next_step=f"measure it: aerode log run --electrode {item.layer.item}",
        )  # fmt: skip
    found = [run for run in item.runs if run.name == name] if name else list(item.runs)
    if not found:
        raise NotFoundError(
            f"{item.layer.item} has no run {name!r}", where="--run",
            allowed=", ".join(run.name for run in item.runs),
        )  # fmt: skip
    instruments = {i.name: i for i in bench.all(Instrument)}
    read = [(run, _data(bench, item, run, instruments)) for run in found]
    able = [one for one in read if one[1].voltage.size and one[1].different_loads >= FEWEST_LOADS]
    run, data = (able or read)[-1]
    if data.area is None:
        raise CannotTellError(str(Reason.AREA_MISSING), where=item.layer.item)
    gap = None if item.cell is None or item.cell.gap is None else item.cell.gap.value
    rest = rest_resistance(gap, item.layer.liquid_conductivity, data.area.value)
    return run, PorousRun(data=data, columns=recipe_columns(item.layer), rest=rest)


def _data(bench: BenchFile, item: Item, run: Run, instruments: dict[str, Instrument]) -> RunData:
    """A run as its own page reads it: in the cell it was in."""
    cell = cell_of_bench_run(bench, run).cell or item.cell
    return read_run(run, instruments, electrode=item.electrode, cell=cell)
