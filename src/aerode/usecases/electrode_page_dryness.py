"""Whether the coat of an electrode is dry enough to heat, and how long to wait for the weighing that tells it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode.cautions.heatings import stored_weighings
from aerode.cautions.policy import COMMON_SCALE_STEP, CONSTANT_WEIGHT_INTERVAL
from aerode.errors import AerodeError
from aerode.records.electrodes import Weighing
from aerode.records.instruments import Instrument, Sort
from aerode.usecases.process_dryness import DrynessQuestion, is_it_dry, needed_wait

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.electrodes import Electrode
    from aerode.records.processes import ProcessAnswer
    from aerode.store.bench_file import BenchFile

__all__ = ["DryLook", "dryness_of", "scale_step"]

_NO_MASS = 1e-9
"""[kg]; below any mesh: of a piece that was not weighed yet only dry coats and area count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DryLook:
    """What two weighings say of a coat, or what is still needed."""

    answer: ProcessAnswer | None = None
    gate: str = ""
    """What is still needed; "" where `answer` tells it."""
    wait: int
    """Minutes between two weighings that this scale needs for this coat."""


def scale_step(bench: BenchFile) -> float | None:
    """The step of the bench's scale [kg], where there is only one.

    Parameters
    ----------
    bench : BenchFile
        Open.

    Returns
    -------
    float or None
        None too where its step was never told, and of a scale that is gone.
    """
    steps = [one.resolution for one in bench.all(Instrument) if one.sort is Sort.SCALE and one.gone is None]  # fmt: skip
    return steps[0] if len(steps) == 1 else None


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
    wait, step = _wait(bench, electrode)
    answer, gate = _told(electrode, wait, step)
    return DryLook(answer=answer, gate=gate, wait=wait)


def _wait(bench: BenchFile, electrode: Electrode) -> tuple[int, float]:
    """Minutes between two weighings, and the step of the scale [kg] they are reckoned with."""
    weighed = electrode.weighings
    last = weighed[-1] if weighed else Weighing(mass=_NO_MASS)
    step = last.resolution or (None if weighed else scale_step(bench)) or COMMON_SCALE_STEP
    last = replace(last, resolution=step)
    kept = stored_weighings(replace(electrode, weighings=(last, replace(last, after=1.0, at=""))))
    seconds = CONSTANT_WEIGHT_INTERVAL
    if kept is not None:
        seconds = needed_wait(kept.coating, kept.area, kept.resolution)
    return math.ceil(seconds / 60 - 1e-9), step  # numerical


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
        name=electrode.name, pieces=kept.pieces,
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
