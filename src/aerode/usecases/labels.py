"""Labels for electrodes: the name, the recipe, the day, and a square code that says which piece it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.records.electrodes import Electrode
from aerode.usecases.electrode_page_list import area_words, recipe_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.store.bench_file import BenchFile

__all__ = ["ElectrodeLabel", "label_says", "labels_for"]

_IDENTITY = 12
"""Hexadecimal digits of the identity on a label: 48 bits, no two pieces of a bench share them by chance."""
_MOST = 240
"""Labels at once: ten sheets."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectrodeLabel:
    """One label. Its square code is a drawing of what it `says`; an address is never in it."""

    name: str
    recipe: str
    made: str
    area: str
    control: bool
    state_of: str
    identity: str
    says: str


def label_says(name: str, identity: str, kind: str = "electrode") -> str:
    """The text in the square code of an electrode, or of another thing.

    Parameters
    ----------
    name : str
        As on the day the label is made.
    identity : str
        Of the record; it stays when the piece is renamed.
    kind : str
        What it is.

    Returns
    -------
    str

    Examples
    --------
    >>> label_says("T6", "0123456789abcdef0123456789abcdef")
    'electrode T6 id 0123456789ab'
    """
    return f"{kind} {name} id {identity[:_IDENTITY]}"


def labels_for(bench: BenchFile, names: Sequence[str]) -> tuple[ElectrodeLabel, ...]:
    """The labels of some electrodes, in the order in which they were asked for.

    Parameters
    ----------
    bench : BenchFile
        Open.
    names : sequence of str
        Of electrodes.

    Returns
    -------
    tuple of ElectrodeLabel

    Raises
    ------
    NotFoundError
        One of them is not on the bench.
    InputError
        More labels than ten sheets hold.
    """
    wanted = list(dict.fromkeys(names))
    if len(wanted) > _MOST:
        raise InputError(
            f"{len(wanted)} labels at once", where="labels", allowed=f"at most {_MOST}",
            next_step="print them in parts",
        )  # fmt: skip
    return tuple(_label(bench, name) for name in wanted)


def _label(bench: BenchFile, name: str) -> ElectrodeLabel:
    revision = bench.state(Electrode, name)
    electrode: Electrode = bench.read(revision)
    says = label_says(name, revision.record)
    return ElectrodeLabel(
        name=name,
        recipe=electrode.recipe or recipe_words(electrode),
        made=electrode.made[:10],
        area=area_words(electrode),
        control=electrode.control,
        state_of="" if electrode.piece == name else electrode.piece,
        identity=revision.record[:_IDENTITY],
        says=says,
    )
