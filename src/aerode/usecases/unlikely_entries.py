"""What is asked before it is stored: shares and weights that are likelier a slip, a scale without its step."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.cautions.policy import COMMON_SCALE_STEP
from aerode.records.instruments import Instrument, Sort
from aerode.records.materials import PowderLot, Solution
from aerode.records.mixes import Mix

if TYPE_CHECKING:
    from aerode.records.marks import Entry
    from aerode.store.bench_file import BenchFile

__all__ = ["ask_of_entries"]

_SMALL = 0.01  # judgement
"""Below it a share of these fields is likelier one that was typed as a part of one: 0.07 for 7 %."""
_SHARES = {
    PowderLot: ("moisture", "assay"),
    Solution: ("solids", "label_solids", "plasticiser"),
    Mix: ("solids_fraction",),
}


def ask_of_entries(bench: BenchFile, record: object, before: object = None) -> str:
    """What is asked of the shares and dishes of a record, and of a scale; "" where nothing is unlikely.

    Parameters
    ----------
    bench : BenchFile
        Open; its scales say to what step they show.
    record : PowderLot, Solution, Mix, Instrument or any other
        Of others nothing is asked.
    before : record, optional
        The state it grew out of: what stood there already is not asked about again.

    Returns
    -------
    str
        Sentences, each with the number as it would be stored.
    """
    asked = [
        _share(name, new)
        for cls, names in _SHARES.items()
        if isinstance(record, cls)
        for name in names
        if (new := getattr(record, name)) is not None
        and new != getattr(before, name, None)
        and 0.0 < new.value < _SMALL
    ]
    if isinstance(record, Solution):
        asked += _dishes(bench, record, before)
    if isinstance(record, Instrument) and before is None:
        asked += _no_step(record)
    return " ".join(asked)


def _share(name: str, entry: Entry) -> str:
    said, meant = units.per_cent(entry.value, 3), units.per_cent(100.0 * entry.value, 3)
    return f"The {name.replace('_', ' ')} would be stored as {said}. Was {meant} meant?"


def _no_step(record: Instrument) -> list[str]:
    """A scale of which nobody says what it is there for."""
    if record.sort is not Sort.SCALE or record.resolution is not None:
        return []
    return [
        f"{record.name} would be stored without its smallest step, which says how small a mix it can weigh; it would be "
        f"taken for a kitchen scale of {1e3 * COMMON_SCALE_STEP:g} g. Is its step nowhere to be read, not as the last digit "
        "of its display either?"
    ]


def _dishes(bench: BenchFile, record: Solution, before: object) -> list[str]:
    """A dish told finer than any scale of the bench shows."""
    steps = [one.resolution for one in bench.all(Instrument) if one.sort is Sort.SCALE and one.resolution and one.gone is None]  # fmt: skip
    old = before.dishes if isinstance(before, Solution) else ()
    if not steps:
        return []
    step = min(steps)
    for number, dish in enumerate(record.dishes, 1):
        for said, mass in (
            ("empty", dish.empty),
            ("with solution", dish.wet),
            ("dried", dish.dried),
        ):
            off = abs(mass / step - round(mass / step))
            if dish not in old and off > 0.01:  # a hundredth of a step: numerical
                return [
                    f"Dish {number} {said} is {1e3 * mass:.6g} g, and the finest scale of this bench shows steps of "
                    f"{1e3 * step:g} g. Was it weighed on another one? Then enter that scale too: it decides how well "
                    "the solids are known."
                ]
    return []
