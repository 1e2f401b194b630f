"""What the page of a thing on the shelf says first: the solids of a solution, a caution on a brine."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import reference, units
from aerode.errors import AerodeError, ReferenceDataError
from aerode.measure.mix.lots import solids_of
from aerode.quantities import Basis
from aerode.records.materials import Electrolyte, Solution
from aerode.usecases.mix import scale_of
from aerode.usecases.on_file import on_file

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.reference.materials import BenchUse
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
            return replace(_of_solution(bench, record), caution=_of_pair(record))
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


_DISSOLVES_IN = re.compile(r"\bdissolves (?:warm )?in ([^;]+)")
_DISSOLVES = re.compile(r"\bdissolves (?!in\b|warm\b)([^;]+)")
_ALCOHOLS = frozenset({"ethanol", "2-propanol", "1-propanol", "1-butanol", "methanol"})
"""What dissolves in one of them mostly dissolves in another; common practice, no source."""
_BETWEEN = re.compile(r",| and | or ")


def _of_pair(lot: Solution) -> str:
    """A plastic in a liquid that neither of the two is said to go with in the tables; "" where one is, or is not on file."""
    if lot.dispersed:
        return ""
    polymer, *liquids = on_file(lot)
    good = _named(_DISSOLVES_IN, polymer.uses)
    alike = _ALCOHOLS if _ALCOHOLS & set(good) else frozenset[str]()
    strange = [
        one.known for one in liquids
        if one.known and one.known not in {*good, *alike} and polymer.known not in _named(_DISSOLVES, one.uses)
    ]  # fmt: skip
    if not (polymer.known and good and strange) or len(strange) < len(liquids):
        return ""
    return (
        f"In the tables {polymer.known} dissolves in {', '.join(good)}, and {' and '.join(strange)} is not among "
        "them: it may only swell to a lump. Try a crumb in a spoonful first, and look the next day."
    )


def _named(pattern: re.Pattern[str], uses: Sequence[BenchUse]) -> list[str]:
    """The names on file of what the tables say that something dissolves, or dissolves in."""
    found: list[str] = []
    for use in uses:
        for match in pattern.finditer(use.serves):
            for word in _BETWEEN.split(match[1]):
                try:
                    found.append(
                        reference.resolve(word.strip().removesuffix(" only").removesuffix(" foam"))
                    )
                except ReferenceDataError:
                    continue
    return list(dict.fromkeys(found))


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
