"""The answer of `next`: the electrodes to build next, and what their readings are worth."""

from __future__ import annotations

from aerode.quantities import Basis
from aerode.records.cautions import Caution
from aerode.records.marks import record

__all__ = ["LeftOut", "NextBatch", "NextBuild"]


@record
class NextBuild:
    """One place of the batch: what to build, how often, and what is believed of it; predicted, not measured."""

    settings: dict[str, str]
    """Of each factor."""
    builds: int
    recipe: str = ""
    """The recipe that was read at these settings; "" for a new one."""
    near: str = ""
    """The recipe that was read nearest to it."""
    shares: dict[str, float]
    """Share of the dry mass of each lot, where the mix can be worked out from that of `near`."""
    ratio: float
    """What is believed of its response, over that of the best recipe that was read."""
    interval_95: tuple[float, float]
    chance_better: float
    """That it is better than the best recipe that was read, by whatever little."""
    beyond: tuple[str, ...] = ()
    """The factors in which it lies outside what was read: a guess."""
    basis: Basis = Basis.PREDICTED


@record
class LeftOut:
    """Settings that were not offered, and why."""

    settings: dict[str, str]
    why: str


@record
class NextBatch:
    """The few electrodes worth building next."""

    schema: str = "aerode.next/1"
    headline: str
    response: str
    best_read: str
    """The recipe believed best of those that were read."""
    builds: tuple[NextBuild, ...]
    worth: float
    """What the best place, chosen after reading the batch, is expected to give over `best_read`: a share.

    No more than a guess where the builds lie outside what was read."""
    worth_after: tuple[float, ...]
    """The same after one build, two builds, ..."""
    spread: float
    """Standard deviation between builds that was counted with, as a share."""
    spread_taken: bool
    places: int
    """Settings that were weighed against each other."""
    outside: tuple[NextBuild, ...] = ()
    """Places outside what was read that may be better: guesses, no part of the batch nor of its worth."""
    at_edge: str = ""
    """That the best recipe lies at the edge of what was read, and what a build beyond costs; "" where it does not."""
    leave: bool = False
    """Whether the batch is worth no weekend: build the battery of `best_read`, or weigh another pot of it."""
    factors: str = ""
    """What was taken from the record as a factor; "" where people entered all of it."""
    left_out: tuple[LeftOut, ...] = ()
    cautions: tuple[Caution, ...] = ()
    """Of making the mixes of the batch."""
    warnings: tuple[str, ...] = ()
    next_steps: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    basis: Basis = Basis.PREDICTED
