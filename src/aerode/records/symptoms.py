"""A symptom that was looked into, kept with its electrode; and the answer of `symptom`."""

from __future__ import annotations

from typing import Annotated

from annotated_types import MaxLen

from aerode.records.marks import Moment, Name, record

__all__ = ["Symptom", "SymptomAnswer", "SymptomLine"]


@record
class Symptom:
    """One trouble of one electrode (or cell): what was seen, what the test showed, what it was.

    `symptom` is the key of the table; "" for one that the table does not hold. `cause` is "" while
    it is not known.
    """

    name: Name
    electrode: str = ""
    cell: str = ""
    run: str = ""
    symptom: Annotated[str, MaxLen(80)] = ""
    seen: str = ""
    test: str = ""
    showed: str = ""
    cause: str = ""
    settled: bool = False
    """True once the test has told one cause from the others."""
    at: Moment = ""
    note: str = ""


@record
class SymptomLine:
    """One row: what is seen, its causes in order, the test that splits them, and what it would show."""

    key: str
    seen: str
    causes: tuple[str, ...]
    test: str
    tells: tuple[str, ...]
    minutes: float
    keep: str
    hazard: str = ""
    source: str = "common_practice"
    status: str = "unverified"


@record
class SymptomAnswer:
    """The rows that fit, best first, and what was found before on the same electrode."""

    schema: str = "aerode.symptom/1"
    headline: str
    asked: str = ""
    sure: bool = True
    """False where the rows are only near to what was said: none of them is told as the answer."""
    rows: tuple[SymptomLine, ...]
    about: str = ""
    before: tuple[Symptom, ...] = ()
    kept: str = ""
    """Name of the record that was stored just now."""
    basis: str = "common practice of the bench, no source"
