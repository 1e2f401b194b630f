"""What the page of a thing on the shelf says first: the solids of a solution, a caution on a brine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import reference, units
from aerode.errors import AerodeError, ReferenceDataError
from aerode.measure.mix.lots import solids_of
from aerode.quantities import Basis
from aerode.records.materials import Electrolyte, Solution
from aerode.usecases.mix import scale_of

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["ShelfWords", "shelf_words"]

_SALTS = ("sodium chloride", "sea salt")
_MOST_SALT = 0.27  # judgement
"""Mass fraction above which not all of these salts dissolves at room temperature."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfWords:
    """What stands right under the name, what it rests on, and what to be careful of; "" for nothing."""

    first: str = ""
    notes: tuple[str, ...] = ()
    caution: str = ""


def shelf_words(bench: BenchFile, record: object) -> ShelfWords:
    """What the page of a thing on the shelf says first.

    Parameters
    ----------
    bench : BenchFile
        For its scale.
    record : Solution, Electrolyte or any other
        Of others nothing is said.

    Returns
    -------
    ShelfWords
        Solids that cannot be told say why.
    """
    match record:
        case Solution():
            return _of_solution(bench, record)
        case Electrolyte():
            return ShelfWords(caution=_of_brine(record))
        case _:
            return ShelfWords()


def _of_solution(bench: BenchFile, lot: Solution) -> ShelfWords:
    try:
        scale, said = scale_of(bench, "")
        solids, notes = solids_of(lot, scale)
    except AerodeError as error:
        return ShelfWords(first=f"Solids not known: {error.what}.", notes=(error.next_step,))
    if solids.value is None:
        return ShelfWords(first="Solids not known.")
    spread = solids.standard_uncertainty
    number = units.write(100.0 * solids.value, "%", None if spread is None else 100.0 * spread)
    weighed = bool(lot.dishes)
    basis = f"{solids.basis.value}, {solids.source}" if solids.source else solids.basis.value
    verb = "Solids" if solids.basis is Basis.MEASURED else "Solids, not measured:"
    return ShelfWords(
        first=f"{verb} {number} by mass ({basis}).", notes=(*notes, *(said if weighed else ()))
    )


def _of_brine(batch: Electrolyte) -> str:
    if batch.mass_fraction is None:
        return ""
    try:
        salt = reference.resolve(batch.salt)
    except ReferenceDataError:
        return ""
    share = batch.mass_fraction.value
    if salt not in _SALTS or share <= _MOST_SALT:
        return ""
    return (
        f"{100.0 * share:.3g} % is more {salt} than water holds: about {100.0 * _MOST_SALT:.3g} % of the mass of the "
        "solution at room temperature. The rest lies on the bottom, and what stands over it is weaker than the "
        "label. Was it grams for 100 mL of water?"
    )
