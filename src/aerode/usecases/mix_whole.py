"""A mix from plain values of which some amounts and some shares follow from the others."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from aerode.errors import AerodeError, FieldFault
from aerode.measure.mix.completing import complete
from aerode.records import adapter
from aerode.records.marks import Share
from aerode.records.mixes import WORKED_OUT, Portion
from aerode.usecases.mix import shelf_of

if TYPE_CHECKING:
    from aerode.measure.mix.completing import Completed
    from aerode.measure.mix.lots import Shelf
    from aerode.store.bench_file import BenchFile

__all__ = ["is_worked_out", "whole_values", "with_the_rest"]


def is_worked_out(portion: Portion) -> bool:
    """True of an amount that nobody typed: it follows from a share."""
    entry = portion.mass or portion.volume
    return entry is not None and entry.how == WORKED_OUT


def whole_values(whole: Completed) -> dict[str, Any]:
    """Portions, shares and rest of a mix as plain values."""
    return {
        "portions": [adapter.write(portion) for portion in whole.portions],
        "wanted": [adapter.write(share) for share in whole.wanted],
        "rest": list(whole.rest),
    }


def with_the_rest(
    bench: BenchFile, plain: dict[str, Any], shelf: Shelf | None = None
) -> tuple[dict[str, Any], list[FieldFault]]:
    """The plain values of a mix with the amounts and shares filled in that follow from the others.

    Parameters
    ----------
    bench : BenchFile
        Open; only its shelf is read.
    plain : dict
        As `aerode.usecases.bench_fields.plain_record` gives them; values that are no portions or
        shares are left for the reader of the record to refuse.
    shelf : Shelf, optional
        The lots, where more stand ready than the bench has.

    Returns
    -------
    tuple
        The plain values, and why they make no whole.
    """
    if not plain.get("wanted"):
        return plain, []
    try:
        portions = [adapter.read(Portion, one) for one in plain.get("portions", [])]
        shares = [adapter.read(Share, one) for one in plain["wanted"]]
    except AerodeError:
        return plain, []
    rest = tuple(plain.get("rest", ()))
    weighed = {portion.of for portion in portions if not is_worked_out(portion)}
    left = {s.of: None if s.of in rest else s.fraction for s in shares if not _follows(s, rest, weighed)}  # fmt: skip
    try:
        whole = complete(portions, left, shelf or shelf_of(bench))
    except AerodeError as error:
        allowed = "; ".join(filter(None, [error.allowed, error.next_step]))
        return plain, [FieldFault("wanted", error.what, allowed, "")]
    return {**plain, **whole_values(whole)}, []


def _follows(share: Share, rest: tuple[str, ...], weighed: set[str]) -> bool:
    """True of a share that several amounts decide together."""
    return len(rest) > 1 and share.of in rest and share.of in weighed
