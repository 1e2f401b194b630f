"""Whether the coat of an electrode is dry enough to heat, and how long to wait for the weighing that tells it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from aerode import units
from aerode.cautions.heatings import stored_weighings
from aerode.cautions.policy import CONSTANT_WEIGHT_INTERVAL
from aerode.cautions.waits import wait_and_step
from aerode.errors import AerodeError
from aerode.usecases.heated_pieces import scale_step
from aerode.usecases.process_dryness import DrynessQuestion, is_it_dry

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.electrodes import Electrode, Weighing
    from aerode.records.processes import ProcessAnswer
    from aerode.store.bench_file import BenchFile

__all__ = ["DryLook", "dryness_of", "scale_step"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DryLook:
    """What two weighings say of a coat, or what is still needed."""

    answer: ProcessAnswer | None = None
    gate: str = ""
    """What is still needed; "" where `answer` tells it."""
    wait: int
    """Minutes between two weighings that this scale needs for this coat."""
    doubt: str = ""
    """Where the time between the last two is said to be longer than the clock knows of; "" otherwise."""


def dryness_of(bench: BenchFile, electrode: Electrode) -> DryLook:
    """Whether the weight of a piece is constant; or what is needed to tell.

    Parameters
    ----------
    bench : BenchFile
        Open; its scale says how long no change has to last.
    electrode : Electrode
        With what was weighed of it.

    Returns
    -------
    DryLook
    """
    wait, step = wait_and_step(electrode, scale_step(bench))
    answer, gate = _told(electrode, wait, step)
    doubt = _by_the_clock(electrode) if answer is not None else ""
    if answer is not None and doubt:
        answer = replace(answer, warnings=(doubt, *answer.warnings))
    return DryLook(answer=answer, gate=gate, wait=wait, doubt=doubt)


def _by_the_clock(electrode: Electrode) -> str:
    """That the last two weighings were entered closer together than they are said to lie; "" where they were not."""
    if len(electrode.weighings) < 2:
        return ""
    first, last = electrode.weighings[-2:]
    if last.after is None or not first.at or not last.at:
        return ""
    entered = (datetime.fromisoformat(last.at) - datetime.fromisoformat(first.at)).total_seconds()
    if entered >= last.after - 60.0:  # judgement: a minute
        return ""
    said, known = units.plain(last.after / 60.0), int(max(entered, 0.0) / 60.0)
    return (
        f"the last two weighings were entered {known} min apart and are said to lie {said} min apart: heat it only if "
        "the first was really read that much earlier than it was entered"
    )


def _told(electrode: Electrode, wait: int, step: float) -> tuple[ProcessAnswer | None, str]:
    kept = stored_weighings(_of_last_coat(electrode))
    if kept is None:
        return None, _gate(electrode, wait, step)
    coating = "" if kept.coating is None else f"{1e3 * kept.coating:.9g} g"
    area = "" if kept.area is None else f"{1e4 * kept.area:.9g} cm^2"
    grams = [1e3 * kept.pieces * m for m in (kept.first, kept.second, kept.resolution)]
    weighed = f"{grams[0]:.9g} g, {grams[1]:.9g} g, {kept.interval:.9g} s"
    question = DrynessQuestion(
        weighed=weighed, coating=coating, area=area, scale=f"{grams[2]:.9g} g",
        name=electrode.name, pieces=kept.pieces, wait=wait,
    )  # fmt: skip
    try:
        return is_it_dry(question), ""
    except AerodeError as error:
        return None, f"{error.what}: {error.next_step}"


def _gate(electrode: Electrode, wait: int, step: float) -> str:
    """What to weigh, and how far apart."""
    coarse = wait * 60 > CONSTANT_WEIGHT_INTERVAL
    why = f" So long, as this scale shows steps of {1e3 * step:g} g and the coat is light." if coarse else ""  # fmt: skip
    if not electrode.weighings:
        return f"Weigh the dry-looking piece, wait {wait} min or more, weigh it again.{why}"
    if len(electrode.weighings) > 1 and _others(electrode.weighings):
        return f"The last two weighings were of different pieces together: weigh the same ones again, {wait} min or more after the last.{why}"
    return f"One more weighing, at least {wait} min after the last, tells whether it is dry.{why}"


def _others(weighings: Sequence[Weighing]) -> bool:
    """Whether the last two weighings were not of the same pieces."""
    return set(weighings[-1].beside) != set(weighings[-2].beside)


def _of_last_coat(electrode: Electrode) -> Electrode:
    """The piece without the weighings of earlier coats: they say nothing of the one put on last."""
    coats = [coat for layer in electrode.layers for coat in layer.coats]
    if electrode.weighings or not coats or coats[-1].weighings:
        return electrode
    layers = tuple(
        replace(layer, coats=tuple(replace(coat, weighings=()) for coat in layer.coats))
        for layer in electrode.layers
    )
    return replace(electrode, layers=layers)
