"""What was to be weighed for a pot, and what stands for an amount that nobody weighed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import UnitError
from aerode.records.marks import Entry
from aerode.records.mixes import AS_PLANNED, Batch, Ingredient, Mix, Portion
from aerode.usecases.mix_preview_words import dose_digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.doses import DoseSheet

__all__ = ["as_planned", "is_as_planned", "is_none", "not_told", "plan_of", "plan_words"]

NOT_WEIGHED = 0.10  # judgement
"""Relative standard uncertainty of an amount that was planned and not weighed."""


def plan_of(mix: Mix, dose: DoseSheet | None = None) -> tuple[Portion, ...]:
    """What was to be weighed for a pot of a mix.

    Parameters
    ----------
    mix : Mix
        Its own amounts are the plan where there is no dose sheet.
    dose : DoseSheet, optional
        The dose sheet from which was weighed.

    Returns
    -------
    tuple of Portion
        Empty where only shares are wanted and nothing was dosed.

    Examples
    --------
    >>> plan_of(Mix(name="T5", portions=(Portion(of="char", mass=Entry(value=2e-3, text="2 g")),)))[0].of
    'char'
    """
    if dose is None:
        return mix.portions
    digits = dose_digits(dose)
    return tuple(
        Portion(of=line.of, shelf=Ingredient(line.shelf),
                mass=Entry(value=1e-3 * line.amount_g, text=f"{line.amount_g:.{digits}f} g"))
        for line in dose.lines if line.amount_g > 0
    )  # fmt: skip


def as_planned(
    portion: Portion, weighed: Sequence[Portion] = (), planned: Sequence[Portion] = ()
) -> Portion:
    """The planned amount in place of a weighed one, as much more or less as the rest of the pot is.

    Parameters
    ----------
    portion : Portion
        As planned.
    weighed, planned : sequence of Portion
        What was weighed of the others, and what was to be: a pot of half the mix has half of this too.

    Returns
    -------
    Portion
        Marked `AS_PLANNED`, with a tenth of it as standard uncertainty.

    Examples
    --------
    >>> planned = [Portion(of="char", mass=Entry(value=4e-3)), Portion(of="jar", mass=Entry(value=2e-3))]
    >>> half = as_planned(planned[1], [Portion(of="char", mass=Entry(value=2e-3))], planned)
    >>> half.mass.value, half.mass.how
    (0.001, 'as planned, not weighed')
    """
    size = _size(weighed, planned)
    entry = portion.mass or portion.volume
    assert entry is not None  # a portion has one of the two
    value = entry.value * size
    taken = Entry(value=value, standard_uncertainty=NOT_WEIGHED * value, how=AS_PLANNED)
    if portion.mass is not None:
        return Portion(of=portion.of, shelf=portion.shelf, mass=taken)
    return Portion(of=portion.of, shelf=portion.shelf, volume=taken)


def _size(weighed: Sequence[Portion], planned: Sequence[Portion]) -> float:
    """How large the pot is against its plan, by what was weighed of both."""
    plan = {one.of: one.mass.value for one in planned if one.mass}
    both = [(one.mass.value, plan[one.of]) for one in weighed if one.mass and one.of in plan]
    wanted = sum(want for _, want in both)
    return sum(got for got, _ in both) / wanted if wanted > 0 else 1.0


def is_as_planned(portion: Portion) -> bool:
    """True of an amount that nobody weighed."""
    entry = portion.mass or portion.volume
    return entry is not None and entry.how == AS_PLANNED


def is_none(text: str) -> bool:
    """True of an amount that says that none went in.

    >>> is_none("0"), is_none("0,0 g"), is_none("none"), is_none(""), is_none("0.2 g")
    (True, True, True, False, False)
    """
    if text.strip().casefold() in {"none", "nothing"}:
        return True
    try:
        return units.read_number(text)[0] == 0.0
    except UnitError:
        return False


def not_told(batch: Batch, mix: Mix | None) -> tuple[str, ...]:
    """What of a mix a pot says nothing about: it went in or it did not.

    Parameters
    ----------
    batch : Batch
    mix : Mix, optional
        Of which it is a pot; None where it is not on the bench.

    Returns
    -------
    tuple of str
        Empty where nothing of the pot was noted, where each is there, or where it was said that none went in.
    """
    if mix is None or not batch.portions:
        return ()
    told = {one.of for one in (*batch.portions, *batch.planned)}
    lacking = [of for of in dict.fromkeys([*(p.of for p in mix.portions), *(s.of for s in mix.wanted)]) if of not in told]  # fmt: skip
    return tuple(
        f"{of} of the mix {mix.name} is not among what was weighed: if it went in, enter how much; "
        "if none did, say 0 on the form of the pot"
        for of in lacking
    )


def plan_words(planned: Sequence[Portion], whose: str = "the plan") -> dict[str, str]:
    """What was to be weighed of each ingredient, and what an empty amount stands for.

    Examples
    --------
    >>> plan_words([Portion(of="char", mass=Entry(value=1.43e-3))], "the dose sheet")
    {'char': 'the dose sheet says 1.43 g; left empty counts as planned, 0 as none'}
    """
    return {
        p.of: f"{whose} says {_amount(p)}; left empty counts as planned, 0 as none" for p in planned
    }


def _amount(portion: Portion) -> str:
    entry = portion.mass or portion.volume
    assert entry is not None  # a portion has one of the two
    if entry.text:
        return entry.text
    number = 1e3 * entry.value if portion.mass else 1e6 * entry.value
    return f"{number:.4g} {'g' if portion.mass else 'mL'}"
