"""Lots that stand in for each other: of two binders each recipe that was read holds one, never both and never none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.comparison.factor_effects import amounts_of
from aerode.records.materials import PowderLot, Solution
from aerode.usecases.next_mixes import lot_for

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from aerode.store.bench_file import BenchFile

__all__ = ["lots_instead", "why_not_instead"]


def lots_instead(
    bench: BenchFile, settings: Mapping[str, Mapping[str, float | str]]
) -> tuple[tuple[str, ...], ...]:
    """The factors that are shares of lots of one function, of which every recipe holds exactly one.

    Parameters
    ----------
    bench : BenchFile
    settings : mapping of recipe to its settings

    Returns
    -------
    tuple of tuple of str
        Two factors or more in each.
    """
    lots: dict[str, PowderLot | Solution] = {
        lot.name: lot for cls in (PowderLot, Solution) for lot in bench.all(cls)
    }
    alike: dict[str, list[str]] = {}
    for name in dict.fromkeys(name for those in settings.values() for name in those):
        lot = name if name in lots else lot_for(name, lots, lots)
        if lot and all(_share(those.get(name)) is not None for those in settings.values()):
            alike.setdefault(str(lots[lot].function), []).append(name)
    return tuple(
        tuple(names) for names in alike.values()
        if len(names) > 1 and all(_holds_one(names, those) for those in settings.values())
        and all(any(_share(those[name]) for those in settings.values()) for name in names)
    )  # fmt: skip


def why_not_instead(groups: Iterable[Sequence[str]], settings: Mapping[str, str]) -> str:
    """Why settings hold none, or several, of lots that stand in for each other; "" where they hold one."""
    for names in groups:
        if not _holds_one(names, settings):
            return f"{' and '.join(names)} stand in for each other: every recipe that was read holds one of them, none holds none or both"
    return ""


def _holds_one(names: Sequence[str], settings: Mapping[str, float | str]) -> bool:
    return sum((_share(settings[name]) or 0.0) > 0.0 for name in names) == 1


def _share(setting: float | str | None) -> float | None:
    """A setting in per cent; None for anything else."""
    found = None if setting is None else amounts_of([setting])
    return found[0][0] if found is not None and found[1] == "%" else None
