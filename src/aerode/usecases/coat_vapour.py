"""The vapour of the wet coats of one piece, where they were weighed; else whose amount the cautions count."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode.errors import AerodeError
from aerode.records.marks import Entry
from aerode.records.mixes import Batch, Mix, Portion
from aerode.usecases.bench_units import amount
from aerode.usecases.caution_question import CautionQuestion
from aerode.usecases.cautions import what_can_hurt

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.cautions import Caution, CautionSheet
    from aerode.records.electrodes import Electrode, Layer
    from aerode.store.bench_file import BenchFile

__all__ = ["WHOLE_POT", "CoatVapour", "coat_vapour", "counts_amounts"]

WHOLE_POT = (
    "The figures on vapour count all that is in the pot, the worst case: how much goes on this piece is "
    "not known before its wet coats are weighed"
)
"""Why the cautions of one piece are those of the whole pot; said without its point."""

_OF_AN_AMOUNT = {"vapour breathed", "flammable vapour"}
"""Hazards that go with how much evaporates; those of a jar stand with its mix."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatVapour:
    """What the wet coats on one piece give off, where each of them was weighed wet."""

    mix: str
    said: str
    """Whose amount is counted, in a sentence."""
    cautions: tuple[Caution, ...] = ()
    """Of the vapour of this piece alone; empty where the whole pot stands for it."""


def coat_vapour(bench: BenchFile, electrode: Electrode, mix: str, *, room: str = "") -> CoatVapour:
    """The vapour of all wet coats of a mix on a piece, or why the whole pot stands for them.

    All coats count, as if none had dried yet. Each holds of every liquid the share that was weighed
    into its pot; over how large an area is left open, so that the rate is bounded by all at once. The
    pot itself is no part of it: its own cautions hold while it is open.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : Electrode
        With the wet masses of its coats.
    mix : str
        Name of a mix of its layers.
    room : str
        The room; the only one on the bench if left out.

    Returns
    -------
    CoatVapour
        Without cautions where a coat has no wet mass, or what went into the pot was not all weighed.
    """
    held: list[Portion] = []
    wet = 0.0
    for layer in electrode.layers:
        batch = bench.find(Batch, layer.batch) if layer.batch else None
        if (batch.mix if batch else layer.mix) != mix:
            continue
        share = _share(layer, _portions(bench, batch, mix))
        if share is None:
            return CoatVapour(mix=mix, said=f"{WHOLE_POT}.")
        held += share
        wet += sum(coat.wet_mass or 0.0 for coat in layer.coats)
    try:
        sheet = what_can_hurt(bench, f"mix:{mix}", CautionQuestion(room=room, portions=tuple(held)))
    except AerodeError:
        return CoatVapour(mix=mix, said=f"{WHOLE_POT}.")
    said = (
        f"Counted here are the {amount(wet, 'kg')} of wet coat that were weighed on this piece, as if none "
        "had dried yet. An open pot beside it gives off its own: put the lid on."
    )
    return CoatVapour(mix=mix, said=said, cautions=_of_vapour(sheet))


def counts_amounts(sheet: CautionSheet) -> bool:
    """Whether a sheet speaks of vapour by the amount of a pot."""
    return any(one.key in {"vapour.breathed", "vapour.fire"} for one in sheet.cautions)


def _of_vapour(sheet: CautionSheet) -> tuple[Caution, ...]:
    return tuple(one for one in sheet.cautions if one.hazard in _OF_AN_AMOUNT)


def _portions(bench: BenchFile, batch: Batch | None, mix: str) -> tuple[Portion, ...]:
    """As weighed into the pot; where no pot is named, as the mix says."""
    found = bench.find(Mix, mix)
    return (batch.portions if batch else ()) or (found.portions if found else ())


def _share(layer: Layer, portions: Sequence[Portion]) -> list[Portion] | None:
    """What the wet coats of a layer hold of each portion; None where that is not known."""
    masses = [one.mass.value for one in portions if one.mass is not None]
    if not layer.coats or not masses or len(masses) < len(portions):
        return None
    wet = [coat.wet_mass for coat in layer.coats]
    if any(not mass for mass in wet):
        return None
    part = sum(mass or 0.0 for mass in wet) / sum(masses)
    if part > 1.0:
        return None  # more than the pot holds: one of the two is wrong
    return [
        replace(one, mass=Entry(value=part * mass))
        for one, mass in zip(portions, masses, strict=True)
    ]
