"""A mix whose amounts and shares are both given whole must be one mix: where nobody can be asked, two are refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.errors import AerodeError, FieldFault
from aerode.records.mixes import Mix
from aerode.usecases.mix import scale_of, shelf_of
from aerode.usecases.mix_which_holds import settle

if TYPE_CHECKING:
    from aerode.measure.mix.lots import Shelf
    from aerode.store.bench_file import BenchFile

__all__ = ["EITHER", "two_mixes", "two_mixes_fault"]

EITHER = "an amount or a share of each where the two disagree by more than weighing explains"
"""What is taken instead of amounts and shares that are two mixes."""


def two_mixes(bench: BenchFile, mix: Mix, shelf: Shelf, before: Mix | None = None) -> str:
    """How the amounts and the shares of a mix disagree.

    Parameters
    ----------
    bench : BenchFile
        Open; its scale says what weighing explains.
    mix : Mix
    shelf : Shelf
        The lots.
    before : Mix, optional
        The state it grew out of.

    Returns
    -------
    str
        "" where they agree, where one follows from the other, or where nobody can tell what dries
        out of it.
    """
    shares = {share.of: share.fraction for share in mix.wanted}
    try:
        return settle(mix.portions, shares, shelf, scale_of(bench, "")[0], base=before).ask
    except AerodeError:
        return ""


def two_mixes_fault(bench: BenchFile, record: object, before: object = None) -> list[FieldFault]:
    """The fault of a mix whose amounts and shares disagree; none where they stood so before, or of any other record.

    Parameters
    ----------
    bench : BenchFile
        Open.
    record : Mix or any other
    before : record, optional
        The state it grew out of.
    """
    if not isinstance(record, Mix) or not record.wanted or not record.portions:
        return []
    old = before if isinstance(before, Mix) else None
    if old is not None and (old.portions, old.wanted) == (record.portions, record.wanted):
        return []
    told = two_mixes(bench, record, shelf_of(bench), old)
    return [FieldFault("wanted", told, EITHER, "")] if told else []
