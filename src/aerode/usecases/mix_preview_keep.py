"""Keep a typed mix or batch: new, or changed with the state that its form showed."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from aerode.errors import FieldFault
from aerode.records.mixes import Batch, Mix
from aerode.usecases.believable import newly_impossible
from aerode.usecases.entering import texts_of
from aerode.usecases.mix_preview_rows import TypedMix, read_batch, read_mix
from aerode.usecases.mix_size import ask_of_record, size_mark
from aerode.usecases.pot_plan import plan_of
from aerode.usecases.unlikely_pot import doubts_of_pot

if TYPE_CHECKING:
    from aerode.records.mixes import Portion
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.unlikely_pot import PotDoubt

__all__ = ["Kept", "keep_batch", "keep_mix"]

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What became of a form: the stored record, or why nothing was stored."""

    record: Mix | Batch | None = None
    faults: tuple[FieldFault, ...] = ()
    theirs: str = ""
    """What somebody else stored meanwhile, in words."""
    state: str = ""
    ask: str = ""
    """What is asked first: it is more than a pot on a table."""
    mark: str = ""
    """How much that is: sent back as `sure` it says yes."""
    doubts: tuple[PotDoubt, ...] = ()
    """Weights of a pot that are far from the plan, asked about first; `place` is the row of the form."""
    two: str = ""
    """How amounts and shares disagree, where it is open which of them holds."""
    told: str = ""
    """Which amounts or shares follow the others in what was stored."""


def keep_mix(
    bench: BenchFile,
    typed: TypedMix,
    *,
    name: str = "",
    state: str = "",
    why: str = "",
    sure: str = "",
) -> Kept:
    """Store a typed mix, new or changed; on a fault nothing is stored.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    typed : TypedMix
        The texts of the form.
    name : str
        Of the mix that is changed; "" for a new one.
    state : str
        The digest of the state that the form showed.
    why : str
        Kept in the history.
    sure : str
        The `mark` to which somebody said yes.

    Returns
    -------
    Kept

    Raises
    ------
    NotFoundError
        No mix of that name.
    """
    standing, digest = _standing(bench, Mix, name)
    draft = read_mix(bench, typed, standing)
    faults = _names_taken(bench, Mix, typed.name, name, draft.faults)
    if draft.mix is None or faults:
        return Kept(faults=faults, state=digest)
    if draft.ask:
        return Kept(two=draft.ask, state=digest)
    if refused := _too_large(bench, draft.mix, standing, typed, sure, digest):
        return refused
    kept = _stored(bench, draft.mix, standing, name, state, digest, why or ("" if name else "new mix"))  # fmt: skip
    return dataclasses.replace(kept, told=draft.told)


def keep_batch(
    bench: BenchFile,
    typed: TypedMix,
    *,
    name: str = "",
    state: str = "",
    why: str = "",
    sure: str = "",
    planned: tuple[Portion, ...] | None = None,
    meant: str = "",
) -> Kept:
    """Store a typed batch, as it was really weighed; otherwise as `keep_mix`.

    `planned` is what was to be weighed where a dose sheet said so; else what the batch kept, else
    the amounts of its mix. `meant` is the question about its weights that was answered with yes, word
    for word.
    """
    standing, digest = _standing(bench, Batch, name)
    if planned is None:
        mix = bench.find(Mix, typed.mix.strip())
        planned = (standing.planned if standing else ()) or (plan_of(mix) if mix else ())
    batch, found = read_batch(bench, typed, standing, planned)
    faults = _names_taken(bench, Batch, typed.name, name, found)
    if batch is None or faults:
        return Kept(faults=faults, state=digest)
    doubts = tuple(
        dataclasses.replace(one, place=_row_of(typed, one.of))
        for one in doubts_of_pot(bench, batch, standing)
    )
    if " ".join(one.ask for one in doubts).split() == meant.split():
        doubts = ()
    refused = _too_large(bench, batch, standing, typed, sure, digest)
    if refused and refused.faults:
        return refused
    if doubts:
        return dataclasses.replace(refused or Kept(state=digest), doubts=doubts)
    if refused:
        return refused
    return _stored(bench, batch, standing, name, state, digest, why)


def _too_large(
    bench: BenchFile, record: Mix | Batch, standing: Mix | Batch | None, typed: TypedMix, sure: str, digest: str
) -> Kept | None:  # fmt: skip
    """A size that cannot be is refused at its row; one that is unlikely is asked about."""
    faults: list[FieldFault] = []
    for fault in newly_impossible(record, standing):
        of = record.portions[int(fault.field.split(".")[1])].of
        faults.append(dataclasses.replace(fault, field=f"rows.{_row_of(typed, of)}.amount"))
    if faults:
        return Kept(faults=tuple(faults), state=digest)
    ask, mark = ask_of_record(bench, record, standing), size_mark(bench, record.portions)
    return Kept(ask=ask, mark=mark, state=digest) if ask and sure != mark else None


def _row_of(typed: TypedMix, of: str) -> int:
    return next((n for n, one in enumerate(typed.rows) if one.of.strip().endswith(of)), 0)


def _standing(bench: BenchFile, cls: type[T], name: str) -> tuple[T | None, str]:
    if not name:
        return None, ""
    revision = bench.state(cls, name)
    return bench.read(revision), revision.digest


def _names_taken(
    bench: BenchFile, cls: type[Mix | Batch], wanted: str, name: str, faults: tuple[FieldFault, ...]
) -> tuple[FieldFault, ...]:
    kind, wanted = cls.__name__.lower(), wanted.strip()
    if not wanted:
        return (
            *faults,
            FieldFault("name", f"the {kind} needs a name", "what stands on its label", ""),
        )
    if wanted != name and bench.find(cls, wanted) is not None:
        taken = FieldFault(
            "name", f"this bench has a {kind} called {wanted!r} already", "another name", wanted
        )
        return (*faults, taken)
    return faults


def _stored(
    bench: BenchFile,
    record: Mix | Batch,
    standing: Any,
    name: str,
    state: str,
    digest: str,
    why: str,
) -> Kept:
    if name and state and state != digest and record != standing:
        texts = texts_of(standing)
        theirs = "; ".join(f"{field.replace('_', ' ')}: {text}" for field, text in texts.items())
        return Kept(theirs=theirs, state=digest)
    if name and record.name != name:
        bench.rename(type(record), name, record.name, why=why)
    stored = bench.put(record, why=why)
    return Kept(record=record, state=stored.digest)
