"""From what is seen to its likely causes and the test that splits them; the answer kept with the electrode."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import InputError, NotFoundError, ReferenceDataError, some_of
from aerode.records.electrodes import Cell, Electrode
from aerode.records.symptoms import Symptom, SymptomAnswer, SymptomLine
from aerode.reference.symptoms import (
    SymptomRow,
    causes_told,
    find_symptoms,
    surely_fits,
    symptom_row,
    symptom_rows,
)

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["SymptomNote", "causes_in_order", "keep_answer", "what_it_may_be"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SymptomNote:
    """What is to be kept, as typed; `cause` is its number in the row, or words."""

    symptom: str
    on: str
    showed: str = ""
    cause: str = ""
    run: str = ""
    note: str = ""


def _line(row: SymptomRow) -> SymptomLine:
    return SymptomLine(
        key=row.key,
        seen=row.seen,
        causes=row.causes,
        test=row.test,
        tells=row.tells,
        minutes=row.minutes,
        keep=row.keep,
        hazard=row.hazard,
        source=row.source,
        status=row.status.value,
    )


def what_it_may_be(text: str = "", bench: BenchFile | None = None, on: str = "") -> SymptomAnswer:
    """The rows that fit what is seen, best first; all of them for an empty text.

    Parameters
    ----------
    text : str
        What is seen, in any words, or the key of a row.
    bench : BenchFile, optional
        Open; needed with `on`.
    on : str
        An electrode or a cell: what was found on it before stands with the answer.

    Returns
    -------
    SymptomAnswer

    Raises
    ------
    ReferenceDataError
        Nothing fits these words.
    NotFoundError
        No such electrode or cell.

    Examples
    --------
    >>> what_it_may_be("the liquid turns black").rows[0].key
    'black liquid'
    """
    rows = find_symptoms(text) if text.strip() else symptom_rows()
    if not rows:
        raise ReferenceDataError(
            f"no symptom on file fits {text!r}",
            where="symptom",
            allowed=", ".join(row.key for row in symptom_rows()),
            next_step="take other words, or one of those; keep it in the electrode's note if it is none",
        )
    before: tuple[Symptom, ...] = ()
    if bench is not None and on:
        _piece(bench, on)
        before = _found_before(bench, on)
    sure = not text.strip() or surely_fits(text, rows)
    return SymptomAnswer(
        headline=_headline(text, rows, before) if sure else _near(rows),
        asked=text,
        sure=sure,
        rows=tuple(map(_line, rows)),
        about=on,
        before=before,
    )


def causes_in_order(answer: SymptomAnswer) -> tuple[int, ...]:
    """The places of the causes of the first row, from 0, the likeliest first.

    First what was found on this piece at the last such trouble, then what the words speak of, then
    the order of the table. The numbers of the causes stay those of the table.
    """
    return _order(symptom_row(answer.rows[0].key), answer.asked, answer.before)


def _order(row: SymptomRow, text: str, before: tuple[Symptom, ...]) -> tuple[int, ...]:
    told = causes_told(row, text)
    known = [old for old in before if old.symptom in row.names and old.cause in row.causes]
    if not known:
        return told
    last = row.causes.index(max(known, key=lambda old: old.at).cause)
    return (last, *(place for place in told if place != last))


def _headline(text: str, rows: tuple[SymptomRow, ...], before: tuple[Symptom, ...]) -> str:
    if not text.strip():
        return f"{len(rows)} symptoms, each with its causes in order and the test that splits them"
    first = rows[0]
    head = f"{first.key}: likely {first.causes[_order(first, text, before)[0]]}"
    return head if len(head) <= 100 else head[:99] + "…"


def _near(rows: tuple[SymptomRow, ...]) -> str:
    """Rows that fit only weakly, as a question."""
    head = f"Not sure. Is it one of these? {'; '.join(row.key for row in rows)}"
    return head if len(head) <= 100 else head[:99] + "…"


def _piece(bench: BenchFile, name: str) -> Electrode | Cell:
    """The electrode or the cell of this name."""
    found = bench.find(Electrode, name) or bench.find(Cell, name)
    if found is None:
        near = [*bench.names(Electrode), *bench.names(Cell)]
        raise NotFoundError(
            f"no electrode or cell {name!r} on this bench",
            where="on",
            allowed=some_of(near) or "nothing is there yet",
            next_step="name one of those",
        )
    return found


def _found_before(bench: BenchFile, name: str) -> tuple[Symptom, ...]:
    return tuple(s for s in bench.all(Symptom) if name in (s.electrode, s.cell))


def _cause(row: SymptomRow, said: str) -> str:
    """The cause by its number in the row, or in the person's own words."""
    text = said.strip()
    if not text.isdigit():
        return text
    number = int(text)
    if not 1 <= number <= len(row.causes):
        raise InputError(
            f"{row.key!r} has no cause {number}",
            where="cause",
            allowed="; ".join(f"{i} {c}" for i, c in enumerate(row.causes, start=1)),
            next_step="give its number, or other words",
        )
    return row.causes[number - 1]


def keep_answer(bench: BenchFile, note: SymptomNote, *, at: str, who: str = "") -> SymptomAnswer:
    """Keep with an electrode what a test showed, and which cause it was.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    note : SymptomNote
        As typed.
    at : str
        Moment, ISO 8601.
    who : str
        Who.

    Returns
    -------
    SymptomAnswer
        With the row and everything found on that piece so far.

    Raises
    ------
    ReferenceDataError
        No such symptom; near ones are named.
    NotFoundError
        No such electrode or cell.
    InputError
        A cause that the row does not have, or nothing to keep.
    """
    row = symptom_row(note.symptom)
    piece = _piece(bench, note.on)
    if not (note.showed.strip() or note.cause.strip()):
        raise InputError(
            "nothing to keep", where="showed", allowed="what the test showed, or the cause, or both",
            next_step=f'the test: {row.test}; then add --showed "..." --cause 1',
        )  # fmt: skip
    cell = isinstance(piece, Cell)
    cause = _cause(row, note.cause)
    kept = Symptom(
        name=f"{note.on}: {row.key}, {at}"[:80],
        electrode=piece.electrode if isinstance(piece, Cell) else piece.name,
        cell=piece.name if cell else "",
        run=note.run,
        symptom=row.key,
        seen=row.seen,
        test=row.test,
        showed=note.showed.strip(),
        cause=cause,
        settled=bool(cause),
        at=at,
        note=note.note,
    )
    bench.put(kept, why=f"symptom on {note.on}: {row.key}", who=who)
    said = f"{note.on}: {row.key}: {cause or 'cause open'}, kept"
    return SymptomAnswer(
        headline=said if len(said) <= 100 else said[:99] + "…",
        asked=note.symptom,
        rows=(_line(row),),
        about=note.on,
        before=_found_before(bench, note.on),
        kept=kept.name,
    )
