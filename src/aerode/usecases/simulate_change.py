"""What a change to an electrode or a mix of the bench would do: predicted, with its band."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode.errors import CannotTellError, InputError
from aerode.measure.porous.answer import simulated
from aerode.measure.porous.changes import read_change
from aerode.measure.porous.fit_answer import fitted
from aerode.measure.porous.streaming import no_steps
from aerode.measure.porous.what_if import Calibration
from aerode.quantities import Reason
from aerode.usecases.process import Desk
from aerode.usecases.simulate_bench import item_of
from aerode.usecases.simulate_fit import run_for_fit
from aerode.usecases.simulate_typed import current_of, sweep_of

if TYPE_CHECKING:
    from aerode.records.simulations import Simulation
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.simulate_bench import Item

__all__ = ["ChangeQuestion", "simulate_change"]

NO_RUN = "no"
"""The word for no fit beforehand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeQuestion:
    """What is asked, as typed; "" where it was not said.

    `vary` goes from `low` to `high` in `steps`. `known` holds what is known better than the bench
    says, `run` the run to fit beforehand ("no" for none).
    """

    changes: tuple[str, ...] = ()
    vary: str = ""
    low: str = ""
    high: str = ""
    steps: int = 6
    at: str = ""
    electrolyte: str = ""
    temperature: str = ""
    known: tuple[str, ...] = ()
    run: str = ""
    draws: int = 2000
    seed: int = 1
    rank: bool = True


def simulate_change(
    bench: BenchFile,
    name: str,
    question: ChangeQuestion,
    *,
    step: Callable[[str, float], None] = no_steps,
) -> Simulation:
    """What changes would do to an item of the bench.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of an electrode or a mix.
    question : ChangeQuestion
        As typed.
    step : callable
        Told how far it is.

    Returns
    -------
    Simulation

    Raises
    ------
    InputError
        Nothing is asked, or something typed cannot be read.
    NotFoundError
        No such item.
    CannotTellError
        The recipe is not known, or the change cannot be.
    """
    desk = Desk()
    changes = tuple(read_change(text) for text in question.changes)
    vary = sweep_of(question.vary, question.low, question.high, question.steps, desk)
    if not changes and vary is None:
        raise InputError(
            "nothing is changed", where=name, allowed="--change or --vary",
            next_step='ask as in --change "thickness +200 um"',
        )  # fmt: skip
    item = item_of(
        bench, name, electrolyte=question.electrolyte, temperature=question.temperature,
        known=question.known, desk=desk,
    )  # fmt: skip
    current = current_of(question.at, desk)
    calibration, said = _calibration(bench, item, question)
    found = simulated(
        item.layer, changes, current, vary=vary, draws=question.draws,
        seed=question.seed, rank=question.rank, calibration=calibration, step=step,
    )  # fmt: skip
    return replace(
        found,
        understood=(*found.understood, *desk.understood),
        warnings=(*said, *found.warnings),
    )


def _calibration(
    bench: BenchFile, item: Item, question: ChangeQuestion
) -> tuple[Calibration | None, tuple[str, ...]]:
    """The fit of the item's run beforehand, or why there is none."""
    if question.run.casefold() == NO_RUN or (not item.runs and not question.run):
        return None, ()
    try:
        run, found = run_for_fit(bench, item, question.run)
        posterior = fitted(found, seed=question.seed)
    except CannotTellError as refusal:
        if question.run:
            raise
        return None, (f"not fitted to a run of it: {refusal.what}",)
    if posterior is None:
        return None, (f"not fitted to {run.name}: {Reason.SAMPLER_POOR}",)
    return Calibration(run=run.name, columns=posterior), ()
