"""A thing leaves the shelf: used up, thrown away, broken, or entered by mistake; and comes back."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar, cast

from aerode.cautions.disposal import LOCAL_RULE, liquid_leaves, powder_leaves, salt_leaves
from aerode.errors import FieldFault, InputError, RecordError, UnitError
from aerode.records import KINDS
from aerode.records.bench_answers import BenchTakenOff
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Gone, Left
from aerode.records.materials import Electrolyte, PowderLot, Solution, SolventLot
from aerode.usecases.dates import read_date
from aerode.usecases.lye_words import is_lye
from aerode.usecases.what_rests import MISTAKE, SHELF_KINDS, refuse_in_use, users_of

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["LEAVES", "MISTAKE", "disposal_words", "gone_words", "has_scale", "is_gone", "offered", "offered_names", "put_back", "refuse_in_use", "take_off", "users_of"]  # fmt: skip

T = TypeVar("T")
LEAVES = tuple(kind for kind in SHELF_KINDS if kind != "room")
"""Kinds that can be used up or thrown away; a room is only taken off where it was a mistake."""


def is_gone(record: object) -> bool:
    """True of a thing that stands on the shelf no more."""
    return getattr(record, "gone", None) is not None


def gone_words(record: object) -> str:
    """How and when a thing left the shelf; "" of one that stands there."""
    gone = cast("Gone | None", getattr(record, "gone", None))
    if gone is None:
        return ""
    return ", ".join(filter(None, [gone.how.value, gone.on, gone.note]))


def offered(bench: BenchFile, cls: type[T]) -> list[T]:
    """The records of a kind that still stand on the shelf."""
    return [one for one in bench.all(cls) if not is_gone(one)]


def has_scale(bench: BenchFile) -> bool:
    """Whether a scale stands on the shelf: without one nobody knows how well what is weighed is known."""
    return any(one.sort is Sort.SCALE for one in offered(bench, Instrument))


def offered_names(bench: BenchFile, cls: type) -> list[str]:
    """The names of a kind to pick from in a form, the newest first; without what is gone."""
    names = bench.to_pick_from(cls)
    if all(KINDS[kind] is not cls for kind in LEAVES):
        return names
    known = cast("list[Any]", bench.all(cls))
    gone = {one.name for one in known if is_gone(one)}
    return [name for name in names if name not in gone]


def take_off(
    bench: BenchFile, kind: str, name: str, how: str, *, on: str = "", note: str = "", who: str = ""
) -> BenchTakenOff:
    """Take a thing off the shelf; what was made or measured with it keeps its figures.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    kind, name : str
        Of the thing.
    how : str
        "used up", "thrown away", "broken or lost", or "entered by mistake".
    on : str
        The day, as typed.
    note, who : str
        Kept with it and in the history.

    Returns
    -------
    BenchTakenOff
        What was done, and what to mind. `put_back` and the history undo it.

    Raises
    ------
    NotFoundError
        No such thing.
    InputError
        Nothing of this kind leaves the shelf; it was a mistake, yet records rest on it.
    RecordError
        The day cannot be read, or `how` is none of the words.
    """
    if kind not in SHELF_KINDS:
        raise InputError(
            f"no {kind} stands on the shelf", where=kind, allowed=", ".join(SHELF_KINDS)
        )
    cls = KINDS[kind]
    state = bench.state(cls, name)  # refuses with the nearest names
    record = bench.read(state)
    if how == MISTAKE:
        _withdraw(bench, kind, name, note, who)
        return BenchTakenOff(
            headline=f"{name} is off the lists: {MISTAKE}", kind=kind, name=name, how=how
        )
    gone = _gone(kind, how, on, note)
    bench.put_onto(replace(record, gone=gone), state.digest, why=f"{how}{f': {note}' if note else ''}", who=who)  # fmt: skip
    return BenchTakenOff(
        headline=f"{name} is off the shelf: {how}", kind=kind, name=name, how=how,
        minded=disposal_words(record),
    )  # fmt: skip


def _withdraw(bench: BenchFile, kind: str, name: str, note: str, who: str) -> None:
    refuse_in_use(bench, kind, name)
    bench.withdraw(KINDS[kind], name, why=f"{MISTAKE}{f': {note}' if note else ''}", who=who)


def _gone(kind: str, how: str, on: str, note: str) -> Gone:
    faults: list[FieldFault] = []
    day = ""
    try:
        day = read_date(on).iso if on.strip() else ""
    except UnitError as error:
        faults.append(FieldFault("on", error.what, error.allowed, on))
    words = [one.value for one in Left] if kind in LEAVES else []
    if how not in words:
        what = "how it left the shelf is not said" if not how else f"{how!r} is none of the words for this"  # fmt: skip
        faults.append(FieldFault("how", what, ", ".join([*words, MISTAKE]), how))
    if faults:
        raise RecordError("this cannot be taken", tuple(faults), where=kind)
    return Gone(how=Left(how), on=day, note=note)


def put_back(bench: BenchFile, kind: str, name: str, *, who: str = "") -> None:
    """Put a thing that was gone back on the shelf, as a new state.

    Raises
    ------
    NotFoundError
        No such thing.
    """
    state = bench.state(KINDS[kind], name)
    record = bench.read(state)
    if is_gone(record):
        bench.put_onto(replace(record, gone=None), state.digest, why="back on the shelf", who=who)


def disposal_words(record: object) -> str:
    """What to mind before the rest of a thing is thrown away; "" where its kind has nothing to mind.

    Parameters
    ----------
    record : record
        Of the shelf.

    Returns
    -------
    str
    """
    match record:
        case SolventLot():
            said = liquid_leaves([record.substance])
        case Solution():
            said = liquid_leaves([share.of for share in record.liquid])
        case PowderLot():
            said = powder_leaves(record.substance, recovered=record.recovered)
        case Electrolyte():
            said = salt_leaves(record.salt, lye=is_lye(record.salt))
        case Instrument() if record.sort is not Sort.RESISTOR:
            said = "Take the battery out first; batteries and electronics to their own collection, not the bin."  # fmt: skip
        case _:
            said = ""
    return f"{said} {LOCAL_RULE}" if said and not isinstance(record, Instrument) else said
