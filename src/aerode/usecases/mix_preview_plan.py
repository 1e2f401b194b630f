"""How much of each goes into a mix, in words: as typed, or as it follows from the shares."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from aerode.records.mixes import AS_PLANNED, Mix
from aerode.usecases.entering import texts_of
from aerode.usecases.mix_whole import is_worked_out
from aerode.usecases.pot_plan import is_as_planned

if TYPE_CHECKING:
    from aerode.records.mixes import Batch, Portion

__all__ = ["GoesIn", "goes_in", "planned_words"]


class GoesIn(NamedTuple):
    """One ingredient, its amount in words, and whether that follows from a share."""

    of: str
    amount: str
    follows: bool
    note: str = ""
    """What it rests on, where nobody weighed it."""


def goes_in(record: Mix | Batch) -> tuple[GoesIn, ...]:
    """The amounts of a mix or a pot, in order.

    Parameters
    ----------
    record : Mix or Batch

    Returns
    -------
    tuple of GoesIn
        Empty where only shares were wanted.

    Examples
    --------
    >>> from aerode.records.marks import Entry
    >>> from aerode.records.mixes import WORKED_OUT, Mix, Portion
    >>> goes_in(Mix(name="T5", portions=(Portion(of="jar", mass=Entry(value=0.0031251, how=WORKED_OUT)),)))
    (GoesIn(of='jar', amount='3.125 g', follows=True, note=''),)
    """
    return tuple(
        GoesIn(p.of, _grams(p) if is_worked_out(p) else _typed(p), is_worked_out(p), _note(p))
        for p in record.portions
    )


def _note(portion: Portion) -> str:
    return AS_PLANNED if is_as_planned(portion) else ""


def _grams(portion: Portion) -> str:
    assert portion.mass is not None  # a worked out amount is a mass
    return f"{1e3 * portion.mass.value:.4g} g"


def _typed(portion: Portion) -> str:
    text = texts_of(Mix(name="x", portions=(portion,)))["portions"]
    return text.removeprefix(f"{portion.shelf.value} {portion.of}: ").partition(" (")[0]


def planned_words(mix: Mix) -> dict[str, str]:
    """What a mix says of each ingredient, to stand beside what was weighed of it.

    Examples
    --------
    >>> from aerode.records.marks import Share
    >>> from aerode.records.mixes import Mix
    >>> planned_words(Mix(name="T5", wanted=(Share(of="char", fraction=0.85), Share(of="jar", fraction=0.15))))
    {'char': 'the mix says 85 % of the dry mass', 'jar': 'the mix says 15 % of the dry mass'}
    """
    said = {s.of: f"the mix says {100 * s.fraction:.4g} % of the dry mass" for s in mix.wanted}
    return said | {of: f"the mix says {amount}" for of, amount, *_ in goes_in(mix)}
