"""The parts of a form plan."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Ask", "FormPlan", "Group", "Widget"]


class Widget(StrEnum):
    """How a field is asked."""

    TEXT = "text"
    NUMBER = "number"
    """A text too, with the keyboard of a phone set to digits."""
    CHOICE = "choice"
    YES_NO = "yes or no"
    SEVERAL = "several"
    """Fixed words of which several may hold: a box to tick for each."""
    PICK = "pick"
    """A name on the bench, offered while typing."""
    LONG = "long"
    DAY = "day"


@dataclass(frozen=True, slots=True)
class Ask:
    """One field: its path in the record, its words, an example of what can be typed."""

    path: str
    label: str = ""
    example: str = ""
    why: str = ""
    """What it would buy, where it may be left for later."""
    widget: Widget | None = None
    of: str = ""
    """The kind of record that is picked."""
    wanted: bool = False
    """Whether the record cannot be without it."""
    bare: str = ""
    """The unit of a number typed without one; it stands behind the label."""
    bare_by_sort: tuple[tuple[str, str], ...] = ()
    """The same where it is another for each sort of the record: pairs of sort and unit."""
    known: str = ""
    """The field whose names on file are offered while typing: see `usecases.on_file.names_for`."""
    meanings: tuple[tuple[str, str], ...] = ()
    """What each choice means, in a few words beside it: pairs of choice and words."""

    def unit(self, sort: str) -> str:
        """The unit that its label names, for a record of this sort; "" for none."""
        return dict(self.bare_by_sort).get(sort, self.bare)


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together. `repeats` is the path of the list where each row is one element."""

    title: str
    asks: tuple[Ask, ...]
    why: str = ""
    later: bool = False
    repeats: str = ""
    blank_rows: int = 1
    sorts: tuple[str, ...] = ()
    """The sorts of the record that it belongs to; where one is chosen the others are not asked it."""


@dataclass(frozen=True, slots=True)
class FormPlan:
    """The form of one kind of record."""

    kind: str
    question: str
    groups: tuple[Group, ...]
