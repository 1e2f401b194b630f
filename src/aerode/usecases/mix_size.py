"""How large a pot may be before it is asked about, and before it is refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.cautions.large import LARGE, large_words
from aerode.cautions.views import ShelfView, mix_view
from aerode.errors import InputError
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


def wet_mass(portions: Sequence[Portion]) -> float:
    """The mass of portions, about [kg]; a volume counts as water would.

    Examples
    --------
    >>> wet_mass([Portion(of="a", mass=Entry(value=0.2)), Portion(of="b", volume=Entry(value=3e-4))])
    0.5
    """
    masses = [p.mass.value for p in portions if p.mass is not None]
    volumes = [p.volume.value * _LIKE_WATER for p in portions if p.volume is not None]
    return sum(masses) + sum(volumes)


def size_mark(portions: Sequence[Portion]) -> str:
    """The size to which a person says yes: another size is asked about again."""
    return f"{1e3 * wet_mass(portions):.4g} g"


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


def refuse_large(ask: str, way: str) -> None:
    """Refuse what is asked about, where nobody can be asked: the refusal names the way to say yes.

    Raises
    ------
    InputError
        Something is asked.
    """
    if ask:
        raise InputError(
            ask.rstrip("."), where="sure", allowed=f"up to {1e3 * LARGE:g} g wet at once, or {way}",
            next_step="look at the amounts and their units; better several small pots",
        )  # fmt: skip


def _ask(bench: BenchFile, portions: Sequence[Portion]) -> str:
    total = wet_mass(portions)
    if total <= LARGE + 1e-9:
        return ""
    shelf = ShelfView.of(bench.all(PowderLot), bench.all(Solution), bench.all(SolventLot))
    return large_words(mix_view(portions, (), shelf), total)
