"""Heads: the newest state of each record, as derived from its revisions."""

from __future__ import annotations

import dataclasses
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from aerode.store.revisions import Revision

__all__ = ["Head", "belongs_to", "derived"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The newest state of a record, as it stands in the table `current`.

    Two of them for one record are a conflict. `parent` names the thing the record belongs to;
    `made` is the place in the journal of its first revision: the order of first storing.
    """

    record: str
    head: str
    kind: str
    name: str
    parent: str
    made: int

    def columns(self) -> dict[str, Any]:
        """The row of the table `current`."""
        return dataclasses.asdict(self)


# The field by which a record of a kind belongs to another one; the first filled one counts.
_BELONGS = {
    "cell": ("electrode",),
    "run": ("cell", "electrode"),
    "batch": ("mix",),
    "order": ("session",),
    "acknowledgement": ("caution",),
    "unsorted": ("placed_in",),
}


def belongs_to(kind: str, doc: str) -> str:
    """The name of the thing a record belongs to: of a run its cell, of a cell its electrode.

    >>> belongs_to("cell", '{"electrode":"T6","name":"cell T6"}')
    'T6'
    """
    fields = _BELONGS.get(kind, ())
    try:
        plain: Any = json.loads(doc) if fields else {}
        return next((str(plain[field]) for field in fields if plain.get(field)), "")
    except (ValueError, AttributeError, RecursionError):  # damaged: its digest tells on it
        return ""


def derived(revisions: Iterable[Revision], places: Mapping[str, int]) -> list[Head]:
    """The table `current` as the revisions give it, from nothing else.

    Parameters
    ----------
    revisions : iterable of Revision
        All of them.
    places : mapping
        Digest to place in the journal.

    Returns
    -------
    list of Head
        In the order of first storing, then of digest.
    """
    every = list(revisions)
    replaced = {parent for entry in every for parent in entry.parents}
    made: dict[str, int] = {}
    for entry in every:
        place = places.get(entry.digest, 0)
        made[entry.record] = min(place, made.get(entry.record, place))
    heads = [
        Head(
            record=entry.record,
            head=entry.digest,
            kind=entry.kind,
            name=entry.name,
            parent=belongs_to(entry.kind, entry.doc),
            made=made[entry.record],
        )
        for entry in every
        if entry.digest not in replaced
    ]
    return sorted(heads, key=lambda head: (head.made, head.head))
