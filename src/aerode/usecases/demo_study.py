"""One invented bench, compared and held against its hidden truth: the stone of which the gates are built."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from aerode.records.comparisons import Verdict
from aerode.records.places import Bench
from aerode.records.results import Level
from aerode.store.bench_file import BenchFile
from aerode.usecases.compare import compare
from aerode.virtual.scoring import score
from aerode.virtual.tern_sound import REFERENCE_VOLTAGE, draw

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.records.comparisons import Effect

__all__ = ["SeedScore", "score_seed"]

_POSITIVE = {Verdict.SHOWN, Verdict.SHOWN_SMALL}


@dataclass(frozen=True, slots=True)
class SeedScore:
    """How near the answer came on one invented bench.

    Parameters
    ----------
    rms_log_error : float
        Of the fair values.
    rank_agreement, ammeter_rank_agreement : float
        With the truth.
    pairs_right, pairs : int
        Pairs whose truths differ by more than seven per cent.
    asked_covered : bool
        Whether the interval of the factor asked for, judged alone, holds its true effect.
    beside_covered : bool
        Whether the intervals of the other factors, judged together, all hold theirs.
    binder_shown : bool
        Whether the effect of the binder, the one asked for, is shown.
    wrong_way : int
        Effects that are shown with the wrong sign.
    repeats_differ_as_recipes : int
        Pairs of one recipe that are called different recipes: must be none.
    """

    seed: int
    rms_log_error: float
    rank_agreement: float
    ammeter_rank_agreement: float
    pairs_right: int
    pairs: int
    asked_covered: bool
    beside_covered: bool
    binder_shown: bool
    wrong_way: int
    repeats_differ_as_recipes: int


def score_seed(seed: int, *, idle: bool = False) -> SeedScore:
    """Draw the bench of a seed, compare its electrodes from the bench file alone, and score the answer.

    Parameters
    ----------
    seed : int
        Which invented bench.
    idle : bool
        True for a bench on which no factor does anything.
    """
    invented = draw(seed, idle=idle)
    with (
        TemporaryDirectory() as folder,
        BenchFile.create(Path(folder) / "b.aerode", title="b") as bench,
    ):
        bench.put_all([r for r in invented.records if not isinstance(r, Bench)])
        found = compare(bench, at_voltage=REFERENCE_VOLTAGE, by="binder", try_changes=False)
    pieces = [p for p in found.pieces if not p.control]
    fair = {p.electrode: p.fair.value for p in pieces if p.fair.value is not None}
    loud = {p.electrode: p.ammeter_mA for p in pieces if p.ammeter_mA is not None}
    near = score(invented.truth.current_density, fair, loud)
    truth = invented.truth.effects
    recipes = {p.electrode: p.recipe for p in pieces}
    return SeedScore(
        seed=seed,
        rms_log_error=near.rms_log_error,
        rank_agreement=near.rank_agreement,
        ammeter_rank_agreement=near.ammeter_rank_agreement,
        pairs_right=near.pairs_right,
        pairs=near.pairs,
        asked_covered=all(_holds(e, truth) for e in found.effects if e.asked),
        beside_covered=all(_holds(e, truth) for e in found.effects if not e.asked),
        binder_shown=any(e.factor == "binder" and e.verdict in _POSITIVE for e in found.effects),
        wrong_way=sum(
            1
            for e in found.effects
            if e.verdict in _POSITIVE and ((e.ratio or 1.0) > 1.0) != (truth[e.factor] > 1.0)
        ),
        repeats_differ_as_recipes=sum(
            1
            for c in found.contrasts
            if c.level is Level.RECIPES and recipes.get(c.a, c.a) == recipes.get(c.b, c.b)
        ),
    )


def _holds(effect: Effect, truth: Mapping[str, float]) -> bool:
    """Whether the printed interval of an effect holds the true one."""
    interval = effect.interval_95
    return interval is not None and interval[0] <= truth[effect.factor] <= interval[1]
