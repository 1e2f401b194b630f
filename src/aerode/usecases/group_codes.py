"""Codes in place of names: what stands in the history for a group of a class."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.records.places import People, Room

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["CODES", "CODES_SAID", "TEACHER", "belongs", "code_for", "is_class"]

CODES = (
    "gull", "eel", "cod", "tern", "crab", "kelp", "seal", "clam", "rook", "otter", "wren", "newt",
    "moth", "hare", "lark", "toad",
)  # fmt: skip
"""Words in place of names: short, easy to tell apart on a label, of nobody."""
TEACHER = "teacher"
"""For whoever leads the class."""
CODES_SAID = (*CODES, TEACHER)
"""Everything that may stand in place of a name."""


def belongs(name: str, code: str) -> bool:
    """Whether a thing is of a group: its name begins with the code.

    >>> belongs("gull 1", "gull"), belongs("gull", "gull"), belongs("gullet", "gull")
    (True, True, False)
    """
    begins = name.casefold()
    return begins == code or (begins.startswith(code) and not begins[len(code)].isalpha())


def is_class(bench: BenchFile, *, class_mode: bool, room: str) -> bool:
    """Whether a class is at work: said so, or the room is one for a class.

    Parameters
    ----------
    bench : BenchFile
        Open.
    class_mode : bool
        As it was said.
    room : str
        By name; the only one on the bench where none is said.
    """
    rooms = [one for one in bench.all(Room) if one.name == room or not room]
    return class_mode or (len(rooms) == 1 and People.CLASS in rooms[0].people)


def code_for(said: str, item: str) -> str:
    """The code that stands in the history for whoever says something about a thing.

    Parameters
    ----------
    said : str
        A code as it was chosen or typed; "" where none was.
    item : str
        The thing; one of a group bears its code, as in "electrode:gull 1".

    Returns
    -------
    str

    Raises
    ------
    InputError
        It is no code, or none was said and the thing is of no group. A name is never kept.

    Examples
    --------
    >>> code_for("", "electrode:gull 1"), code_for("Eel", "mix:A")
    ('gull', 'eel')
    """
    typed = said.strip().casefold()
    if typed in CODES_SAID:
        return typed
    own = next((code for code in CODES if belongs(item.rpartition(":")[2], code)), "")
    if not typed and own:
        return own
    raise InputError(
        "in a class a code stands in place of a name" if typed else "no group was said",
        where="group",
        allowed=", ".join(CODES_SAID),
        next_step="choose the code of the group",
    )
