"""How large a pot may be before it is asked about, and before it is refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.cautions.large import LARGE, large_words
from aerode.cautions.views import ShelfView, mix_view
from aerode.errors import InputError
from aerode.measure.mix.published import density_on_file
from aerode.records.marks import Entry
from aerode.records.materials import PowderLot, Solution, SolventLot
from aerode.records.mixes import Batch, Ingredient, Mix, Portion

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.doses import DoseSheet
    from aerode.store.bench_file import BenchFile

__all__ = ["ask_of_dose", "ask_of_record", "refuse_large", "size_mark", "wet_mass"]

_LIKE_WATER = 1000.0  # judgement
"""[kg/m³] of a volume whose density nobody asked for: enough to tell millilitres from litres."""


def wet_mass(bench: BenchFile, portions: Sequence[Portion]) -> float:
    """The mass of portions, about [kg]; a volume of unknown density counts as water would.

    Parameters
    ----------
    bench : BenchFile
        Open; its shelf says what a solvent is.
    portions : sequence of Portion

    Returns
    -------
    float
    """
    masses = [p.mass.value for p in portions if p.mass is not None]
    volumes = [p.volume.value * _density(bench, p) for p in portions if p.volume is not None]
    return sum(masses) + sum(volumes)


def _density(bench: BenchFile, portion: Portion) -> float:
    """As entered for the lot, else as published for its solvent, else that of water [kg/m^3]."""
    lot = bench.find(Solution if portion.shelf is Ingredient.SOLUTION else SolventLot, portion.of)
    if lot is not None and lot.density is not None:
        return lot.density.value
    known = density_on_file(lot.substance) if isinstance(lot, SolventLot) else None
    return (known.value if known else None) or _LIKE_WATER


def size_mark(bench: BenchFile, portions: Sequence[Portion]) -> str:
    """The size to which a person says yes: another size is asked about again."""
    return f"{1e3 * wet_mass(bench, portions):.4g} g"


def ask_of_record(bench: BenchFile, record: object, before: object = None) -> str:
    """What is asked before a mix or a pot of this size is stored.

    Parameters
    ----------
    bench : BenchFile
        Open; its shelf says what gives off what.
    record : Mix, Batch or any other
        Of others nothing is asked.
    before : record, optional
        The state it grew out of: amounts that stood there already are not asked about again.

    Returns
    -------
    str
        "" where it is no larger than a pot on a table.
    """
    if not isinstance(record, Mix | Batch):
        return ""
    if isinstance(before, Mix | Batch) and before.portions == record.portions:
        return ""
    return _ask(bench, record.portions)


def ask_of_dose(bench: BenchFile, dose: DoseSheet) -> str:
    """What is asked before a dose sheet of this size is shown; "" where it is no larger than a pot on a table."""
    return _ask(bench, [
        Portion(of=line.of, shelf=Ingredient(line.shelf), mass=Entry(value=1e-3 * line.amount_g))
        for line in dose.lines if line.amount_g > 0
    ])  # fmt: skip


def refuse_large(ask: str, way: str, allowed: str = "") -> None:
    """Refuse what is asked about, where nobody can be asked: the refusal names the way to say yes.

    Raises
    ------
    InputError
        Something is asked.
    """
    if ask:
        raise InputError(
            ask.rstrip("."), where="sure",
            allowed=f"{allowed or f'up to {1e3 * LARGE:g} g wet at once'}, or {way}",
            next_step="look at the numbers and their units" if allowed
            else "look at the amounts and their units; better several small pots",
        )  # fmt: skip


def _ask(bench: BenchFile, portions: Sequence[Portion]) -> str:
    total = wet_mass(bench, portions)
    if total <= LARGE + 1e-9:
        return ""
    shelf = ShelfView.of(bench.all(PowderLot), bench.all(Solution), bench.all(SolventLot))
    return large_words(mix_view(portions, (), shelf), total)
