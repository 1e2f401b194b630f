"""What rests on a record by its name: it is not taken off the lists while anything does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from aerode.errors import InputError
from aerode.records import KINDS, adapter
from aerode.records.electrodes import Cell, Electrode
from aerode.records.mixes import Batch, Mix
from aerode.records.places import Bench, RunOrder
from aerode.records.runs import Run
from aerode.records.symptoms import Symptom

if TYPE_CHECKING:
    from collections.abc import Iterator

    from aerode.store.bench_file import BenchFile

__all__ = ["MISTAKE", "SHELF_KINDS", "refuse_in_use", "refuse_undo_in_use", "users_of"]

MISTAKE = "entered by mistake"
"""The fourth way off the shelf: the record is taken off the lists, where nothing rests on it."""
_POTS = (Mix, Batch)
_OF_SHELF: dict[str, tuple[type[Any], ...]] = {
    "powder": _POTS, "solution": _POTS, "solvent": _POTS, "mesh": (Electrode,), "electrolyte": (Cell, Run),
    "aluminium": (Cell, Run), "instrument": (Run, Electrode, Bench), "room": (Run, Electrode, Bench),
}  # fmt: skip
"""What may rest on a thing of each kind of the shelf."""
SHELF_KINDS = tuple(_OF_SHELF)
_OF_MADE: dict[str, dict[type[Any], tuple[str, ...]]] = {
    "mix": {Batch: ("mix",), Electrode: ("mix",), Mix: ("after",)},
    "batch": {Electrode: ("batch",)},
    "electrode": {
        Cell: ("electrode",), Run: ("electrode",), Symptom: ("electrode",), Electrode: ("build",),
        RunOrder: ("electrodes", "control"),
    },
    "cell": {Run: ("cell",), Symptom: ("cell",)},
    "run": {Symptom: ("run",)},
}  # fmt: skip
"""What may rest on a thing that was made or measured, and the fields that name it."""
_FREE = {"note", "text", "how", "comment"}
"""Fields with a person's words: a name in them is no use of the thing."""
_SHOWN = 5


def users_of(bench: BenchFile, kind: str, name: str, *, most: int = _SHOWN) -> list[str]:
    """What rests on a record, in words ("mix T5"); so many at most.

    Parameters
    ----------
    bench : BenchFile
        Open.
    kind, name : str
        Of the record.
    most : int
        Where to stop looking.

    Returns
    -------
    list of str
        Empty for a kind on which nothing rests by name.
    """
    found: list[str] = []
    named = _OF_MADE.get(kind) or dict.fromkeys(_OF_SHELF.get(kind, ()), ())
    for cls, fields in named.items():
        # Every newest state, not `all`: what stands in two states is looked at in both.
        for state in bench.newest_states(cls):
            one = bench.read(state)
            if one is None or (cls is KINDS[kind] and one.name == name):
                continue
            plain = adapter.write(one)
            if name in set(_in_fields(plain, fields) if fields else _said(plain)):
                word = next(w for w, known in KINDS.items() if known is cls)
                said = word if cls is Bench else f"{word} {one.name}"
                found += [] if said in found else [said]
                if len(found) >= most:
                    return found
    return found


def _in_fields(plain: Any, fields: tuple[str, ...]) -> Iterator[str]:
    """Every text that stands in a field of one of these names, however deep."""
    if isinstance(plain, dict):
        for key, part in cast("dict[str, Any]", plain).items():
            yield from _said(part) if key in fields else _in_fields(part, fields)
    elif isinstance(plain, list):
        for part in cast("list[Any]", plain):
            yield from _in_fields(part, fields)


def _said(plain: Any) -> Iterator[str]:
    """Every text of a record but its own name and a person's words."""
    if isinstance(plain, dict):
        for key, part in cast("dict[str, Any]", plain).items():
            if key not in _FREE and key != "name":
                yield from _said(part)
    elif isinstance(plain, list):
        for part in cast("list[Any]", plain):
            yield from _said(part)
    elif isinstance(plain, str):
        yield plain


def refuse_in_use(
    bench: BenchFile, kind: str, name: str, *, where: str = "", next_step: str = ""
) -> None:
    """Refuse to take a record off the lists while others rest on it; the title of a bench stays in any case.

    Parameters
    ----------
    bench : BenchFile
        Open.
    kind, name : str
        Of any record.
    where : str
        What the refusal is said of; else the field of a thing of the shelf, or the record.
    next_step : str
        What to do instead, where it is not to change the record.

    Raises
    ------
    InputError
        With the records that name it.
    """
    if kind == "bench":
        raise InputError("the title of the bench is not taken off it", where=name)
    users = users_of(bench, kind, name)
    if not users:
        return
    shelf = kind in _OF_SHELF
    more = " and more" if len(users) >= _SHOWN else ""
    raise InputError(
        f"{', '.join(users)}{more} rest{'s' if len(users) == 1 else ''} on {name}",
        where=where or ("how" if shelf else name),
        allowed=f"“{MISTAKE}” for what nothing rests on",
        next_step=next_step
        or (
            "change what is wrong about it, or say that it is used up: its figures stay for what was made with it"
            if shelf
            else "change what is wrong about it, or take off what rests on it first"
        ),
    )


def refuse_undo_in_use(bench: BenchFile, kind: str, name: str, to: str = "") -> None:
    """Refuse a way back that would take a record off the lists while others rest on it.

    It would where there was nothing before its first state, and where the state to go back to is one
    in which the record was withdrawn.

    Parameters
    ----------
    bench : BenchFile
        Open.
    kind, name : str
        Of any record.
    to : str
        As of `BenchFile.undo`.

    Raises
    ------
    InputError
        As `refuse_in_use`.
    NotFoundError, ConflictError
        As `BenchFile.undo`.
    """
    state = bench.standing(KINDS[kind], name)
    if state is None:
        return
    back = to or (state.parents[0] if len(state.parents) == 1 else "")
    first = not to and not state.parents
    if first or (back and bench.by_digest(back).withdrawn):
        refuse_in_use(bench, kind, name, where=name)
