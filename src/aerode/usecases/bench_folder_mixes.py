"""Mixes of a bench folder that are told by amounts and shares at once: made one mix, or refused with both figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from aerode.errors import RecordError
from aerode.records import adapter
from aerode.records.mixes import Ingredient, Mix
from aerode.usecases.believable import impossible_in
from aerode.usecases.mix import shelf_of
from aerode.usecases.mix_agrees import EITHER, two_mixes
from aerode.usecases.mix_whole import with_the_rest

if TYPE_CHECKING:
    from aerode.measure.mix.lots import Shelf
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_folder import Folder, Found

__all__ = ["complete_mixes"]


def complete_mixes(bench: BenchFile, folder: Folder) -> None:
    """Fill in the amounts and shares that follow from the others, and refuse two that disagree.

    Parameters
    ----------
    bench : BenchFile
        Open; its lots count beside those of the folder.
    folder : Folder
        As `read_folder` gave it; its mixes with amounts and shares get their record here.
    """
    both = [f for f in folder.found if f.record is not None and f.has_both]
    if not both:
        return
    shelf = shelf_of(bench, [found.record for found in folder.found if found.record is not None])
    for found in both:
        try:
            _complete(bench, folder, found, shelf)
        except RecordError as error:
            found.record = None
            for fault in error.faults:
                folder.fault(found.where(_path(fault.field)), f"{fault.field}: {fault.what}", fault.allowed, fault.raw)  # fmt: skip


def _complete(bench: BenchFile, folder: Folder, found: Found, shelf: Shelf) -> None:
    plain, typed = found.plain, found.record
    if not _on_shelf(plain, shelf):
        return
    if not _each_has_both(plain):
        plain, faults = with_the_rest(bench, plain, shelf)
        for fault in faults:
            folder.fault(found.where(("wanted",)), fault.what, fault.allowed, fault.raw)
        if faults:
            found.record = None
            return
    mix = adapter.read(Mix, plain)
    if not impossible_in(typed):
        for fault in impossible_in(mix):
            folder.fault(found.where(("portions",)), fault.what, fault.allowed, fault.raw)
    if told := two_mixes(bench, mix, shelf):
        folder.fault(found.where(("wanted",)), told, EITHER)
    found.record = mix


def _on_shelf(plain: dict[str, Any], shelf: Shelf) -> bool:
    """Whether all that is named stands on the shelf; what does not is refused by its name, and with it all."""
    dry = set(shelf.powders) | set(shelf.solutions)
    lots = dry | set(shelf.solvents)
    return all(one.get("of") in lots for one in plain["portions"]) and all(
        one.get("of") in dry for one in plain["wanted"]
    )


def _each_has_both(plain: dict[str, Any]) -> bool:
    """Whether nothing is left to follow: each dry ingredient has an amount and a share."""
    weighed = {p.get("of") for p in plain["portions"] if p.get("shelf") != Ingredient.SOLVENT.value}
    return weighed == {share.get("of") for share in plain["wanted"]}


def _path(field: str) -> tuple[str | int, ...]:
    return tuple(int(part) if part.isdigit() else part for part in field.split("."))
