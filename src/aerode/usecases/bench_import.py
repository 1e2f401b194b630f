"""Bring a folder of hand-written tables and TOML files onto the bench: all of it, or nothing."""

from __future__ import annotations

import difflib
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from aerode.errors import FieldFault, RecordError, some_of
from aerode.records import KINDS
from aerode.records.bench_answers import BenchImport, KindCount
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument
from aerode.records.materials import (
    Aluminium,
    Electrolyte,
    MeshCard,
    PowderLot,
    Solution,
    SolventLot,
)
from aerode.records.mixes import Batch, Ingredient, Mix
from aerode.records.runs import Run
from aerode.usecases.bench_folder import place_order, read_folder, records_of
from aerode.usecases.bench_folder_mixes import complete_mixes

if TYPE_CHECKING:
    import os
    from collections.abc import Mapping

    from aerode.store.bench_file import BenchFile
    from aerode.store.revisions import Revision
    from aerode.usecases.bench_folder import Folder, Found

__all__ = ["import_folder"]

_SHELVES = {
    Ingredient.POWDER: PowderLot,
    Ingredient.SOLUTION: Solution,
    Ingredient.SOLVENT: SolventLot,
}


def import_folder(
    bench: BenchFile, folder: str | os.PathLike[str], *, who: str = "", called: str = ""
) -> BenchImport:
    """Store every record of a bench folder, in one transaction.

    Parameters
    ----------
    bench : BenchFile
        An open bench.
    folder : path
        The folder; `docs/how-to/bench-folder.md` describes it.
    who : str
        Who writes.
    called : str
        What the folder is called where it comes from; "" for its own name.

    Returns
    -------
    BenchImport
        Counts by kind; how the tables were taken; names without a record of their own.

    Raises
    ------
    RecordError
        With every fault of the folder: file, line, column, what is allowed. Nothing is stored.
    InputError
        No such folder, or nothing of a bench in it.
    """
    path = Path(folder)
    read = read_folder(path)
    complete_mixes(bench, read)
    names = _Names(bench, read)
    for found in read.found:
        _refuse_strangers(read, found, names)
    _refuse_shared_builds(read)
    if read.faults:
        raise _refusal(called or str(path), sorted(read.faults, key=place_order))
    known = {entry.digest for entry in bench.history()}
    stored = bench.put_all(
        records_of(read), why=f"imported from the folder {called or path.resolve().name}", who=who
    )
    kinds = _counts(stored, known)
    total = sum(count.new + count.changed for count in kinds)
    return BenchImport(
        headline=f"Imported {called or path.name}: {total} records new or changed, {len(stored) - total} as they were",
        folder=str(path),
        kinds=kinds,
        understood=tuple(read.understood),
        not_on_file=tuple(dict.fromkeys(line for found in read.found for line in _not_on_file(found, names))),
        left_alone=tuple(read.left_alone),
    )  # fmt: skip


def _refusal(where: str, faults: list[FieldFault]) -> RecordError:
    count = "one fault" if len(faults) == 1 else f"{len(faults)} faults"
    lines = [
        f"  {f.field}: {f.what}" + (f" (allowed: {f.allowed})" if f.allowed else "") for f in faults
    ]
    error = RecordError(
        "\n".join([f"{count} in this folder; nothing was stored", *lines]),
        tuple(faults),
        where=where,
        next_step="mend the named places and import the folder again",
    )
    error.allowed = ""  # it stands behind each fault already
    return error


class _Names:
    """Which names of a kind are known: in the folder, or on the bench."""

    def __init__(self, bench: BenchFile, folder: Folder) -> None:
        self._known = {kind: set(bench.names(cls)) for kind, cls in KINDS.items()}
        for found in folder.found:
            name = found.record.name if found.record is not None else found.typed_name()
            self._known[found.kind].add(name)

    def of(self, *classes: type) -> set[str]:
        """All names of some kinds."""
        known = (names for kind, names in self._known.items() if KINDS[kind] in classes)
        return set[str]().union(*known) - {""}


def _refuse_strangers(folder: Folder, found: Found, names: _Names) -> None:
    """What a record cannot do without must be known by name."""
    for path, classes, name in _needed(found):
        known = names.of(*classes)
        if folder.unread & {_word(cls) for cls in classes}:
            continue  # it may stand in the file that could not be read: mending that tells
        if name and name not in known:
            kinds = " or ".join(_word(cls) for cls in classes)
            near = difflib.get_close_matches(name, known, n=3, cutoff=0.4) or sorted(known)
            allowed = some_of(near, 8) or f"a {kinds} of the folder or of the bench"
            folder.fault(found.where(path), f"no {kinds} is called {name!r}", allowed, name)


def _refuse_shared_builds(folder: Folder) -> None:
    """One piece of matter has one recipe: a build shared by two recipes is a number, not a piece."""
    first: dict[str, Electrode] = {}
    for found in folder.found:
        electrode = found.record
        if not isinstance(electrode, Electrode):
            continue
        other = first.setdefault(electrode.piece, electrode)
        if other.recipe != electrode.recipe or other.factors != electrode.factors:
            folder.fault(
                found.where(("build",)),
                f"{other.name} and {electrode.name} share build {electrode.piece!r} but differ in recipe",
                "a name of its own for each piece; the same only for a later state of one piece",
                electrode.piece,
            )


def _word(cls: type) -> str:
    return next(kind for kind, known in KINDS.items() if known is cls)


_Needed = list[tuple[tuple[str | int, ...], tuple[type, ...], str]]


def _needed(found: Found) -> _Needed:
    """The names without which a record hangs in the air: path, kinds it may be of, name.

    They are taken from what could be read of it, so that a slip in another field hides none of them.
    """
    plain = found.plain
    if found.kind == "cell":
        return [(("electrode",), (Electrode,), _text(plain, "electrode"))]
    if found.kind == "run":
        return [
            (("cell",), (Cell,), _text(plain, "cell")),
            (("electrode",), (Electrode,), _text(plain, "electrode")),
            *(
                (("readings", n, "load"), (Instrument,), _text(reading, "load"))
                for n, reading in enumerate(_listed(plain, "readings"))
                if _text(reading, "load") != "open"
            ),
        ]
    if found.kind == "batch":
        return [(("mix",), (Mix,), _text(plain, "mix")), *_needed_portions(plain)]
    if found.kind == "mix":
        wanted: _Needed = [
            (("wanted", n), (PowderLot, Solution), _text(share, "of"))
            for n, share in enumerate(_listed(plain, "wanted"))
        ]
        return [*wanted, *_needed_portions(plain)]
    return []


def _needed_portions(plain: Mapping[str, Any]) -> _Needed:
    return [
        (("portions", n, "of"), (_SHELVES[_shelf(portion)],), _text(portion, "of"))
        for n, portion in enumerate(_listed(plain, "portions"))
    ]


def _shelf(portion: Mapping[str, Any]) -> Ingredient:
    """The shelf as typed; the powders where none or no such shelf is said."""
    said = _text(portion, "shelf")
    return Ingredient(said) if said in {one.value for one in Ingredient} else Ingredient.POWDER


def _text(plain: Mapping[str, Any], name: str) -> str:
    value = plain.get(name)
    return value if isinstance(value, str) else ""


def _listed(plain: Mapping[str, Any], name: str) -> list[dict[str, Any]]:
    """The records in a list field; what could not be read at all keeps its place, empty."""
    values: object = plain.get(name)
    if not isinstance(values, list):
        return []
    return [
        cast("dict[str, Any]", one) if isinstance(one, dict) else {}
        for one in cast("list[object]", values)
    ]


def _not_on_file(found: Found, names: _Names) -> list[str]:
    """Names that may stand alone, but from which nothing can be computed then."""
    record = found.record
    named: list[tuple[type, str]] = []
    if isinstance(record, Electrode):
        named.append((MeshCard, record.mesh))
        named += [(Mix, layer.mix) for layer in record.layers]
        named += [(Batch, layer.batch) for layer in record.layers]
    elif isinstance(record, Cell):
        named += [(Aluminium, record.aluminium), (Electrolyte, record.electrolyte)]
    elif isinstance(record, Run):
        named.append((Instrument, record.meter))
    return [f"{_word(cls)} {name}" for cls, name in named if name and name not in names.of(cls)]


def _counts(stored: list[Revision], known: set[str]) -> tuple[KindCount, ...]:
    counts: dict[str, list[int]] = {}
    for entry in stored:
        state = 2 if entry.digest in known else 1 if entry.parents else 0
        counts.setdefault(entry.kind, [0, 0, 0])[state] += 1
    return tuple(
        KindCount(kind=kind, new=new, changed=changed, unchanged=unchanged)
        for kind, (new, changed, unchanged) in counts.items()
    )
