"""Trouble by what is seen: likely causes in order, and the test that splits them.

Common practice of the bench, no source; every row says so.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from aerode.errors import ReferenceDataError
from aerode.reference.loader import bibliography, parse_toml, read_text
from aerode.reference.rows import Status

if TYPE_CHECKING:
    from collections.abc import Collection

__all__ = ["SymptomRow", "find_symptoms", "parse_symptoms", "symptom_row", "symptom_rows"]

_FILE = "symptoms.toml"
_MAY_BE_EMPTY = {"hazard"}
_SMALL_WORDS = {"a", "an", "and", "at", "in", "is", "it", "my", "no", "not", "of", "on", "the", "to", "with"}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class SymptomRow:
    """One thing that is seen; `tells` says for each cause what the test shows if it is that one."""

    key: str
    seen: str
    words: str
    causes: tuple[str, ...]
    test: str
    tells: tuple[str, ...]
    minutes: float
    keep: str
    hazard: str
    source: str

    @property
    def status(self) -> Status:
        """Unverified: a fact of the trade."""
        kind = bibliography()[self.source].kind
        return Status.UNVERIFIED if kind in ("practice", "memory") else Status.SECONDARY


def _refuse(where: str, what: str, allowed: str) -> ReferenceDataError:
    return ReferenceDataError(what, where=where, allowed=allowed, next_step="mend that entry")


def _entry(values: dict[str, Any], where: str, sources: Collection[str]) -> SymptomRow:
    wanted = {field.name for field in fields(SymptomRow)}
    empty = [k for k, v in values.items() if k not in _MAY_BE_EMPTY and not v]
    if set(values) != wanted or empty:
        raise _refuse(where, "an entry with other or empty fields", ", ".join(sorted(wanted)))
    if values["source"] not in sources:
        raise _refuse(where, f"unknown source {values['source']!r}", "a key of bibliography.toml")
    if len(values["causes"]) < 2 or len(values["causes"]) != len(values["tells"]):
        raise _refuse(
            where, "causes and what the test tells do not pair", "two causes or more, one tell each"
        )
    if not 0 < values["minutes"] <= 24 * 60:
        raise _refuse(where, f"{values['minutes']} minutes", "above 0, at most a day")
    given: dict[str, Any] = {
        **values,
        "causes": tuple(values["causes"]),
        "tells": tuple(values["tells"]),
        "minutes": float(values["minutes"]),
    }
    return SymptomRow(**given)


def parse_symptoms(
    text: str, file: str = _FILE, *, sources: Collection[str]
) -> tuple[SymptomRow, ...]:
    """The rows of a TOML text.

    Parameters
    ----------
    text : str
        TOML with `[[symptom]]` entries.
    file : str
        The name to show in a refusal.
    sources : collection of str
        Known source keys.

    Returns
    -------
    tuple of SymptomRow

    Raises
    ------
    ReferenceDataError
        A bad field, an unknown source, causes without a tell, or a key twice; the place is named.
    """
    starts = [i for i, t in enumerate(text.splitlines(), start=1) if t.startswith("[[symptom]]")]
    found: dict[str, SymptomRow] = {}
    for values, line in zip(parse_toml(text, file).get("symptom", ()), starts, strict=True):
        row = _entry(values, f"{file}, line {line}", sources)
        if row.key in found:
            raise _refuse(f"{file}, line {line}", f"{row.key!r} stands twice", "each key once")
        found[row.key] = row
    return tuple(found.values())


@lru_cache(maxsize=1)
def symptom_rows() -> tuple[SymptomRow, ...]:
    """Every symptom on file, in the order of the table; read on first use.

    Returns
    -------
    tuple of SymptomRow

    Examples
    --------
    >>> len(symptom_rows()) >= 20
    True
    """
    return parse_symptoms(read_text(_FILE), sources=bibliography())


def _tokens(text: str) -> set[str]:
    return set(re.findall(r"[a-z]+", text.casefold())) - _SMALL_WORDS


def _score(row: SymptomRow, asked: set[str]) -> float:
    """How well a row fits: words of its own list count double, near spellings count half."""
    own, told = _tokens(row.key + " " + row.words), _tokens(row.seen)
    score = 0.0
    for word in asked:
        if word in own:
            score += 2.0
        elif word in told or difflib.get_close_matches(word, own, n=1, cutoff=0.8):
            score += 1.0
    return score


def find_symptoms(text: str, most: int = 5) -> tuple[SymptomRow, ...]:
    """The rows that fit what somebody says they see, best first.

    Parameters
    ----------
    text : str
        In any words; a key alone gives its own row.
    most : int
        At most so many.

    Returns
    -------
    tuple of SymptomRow
        Empty where nothing fits.

    Examples
    --------
    >>> find_symptoms("black water")[0].key
    'black liquid'
    >>> find_symptoms("zero volts")[0].key
    'zero volts'
    """
    wanted = " ".join(text.casefold().split())
    exact = tuple(row for row in symptom_rows() if row.key == wanted)
    if exact:
        return exact
    asked = _tokens(text)
    scored = [(_score(row, asked), -i, row) for i, row in enumerate(symptom_rows())]
    kept = sorted((s for s in scored if s[0] > 0.0), key=lambda s: s[:2], reverse=True)
    best = kept[0][0] if kept else 0.0
    return tuple(row for score, _, row in kept[:most] if score >= 0.5 * best)


def symptom_row(key: str) -> SymptomRow:
    """The row of a key.

    Parameters
    ----------
    key : str
        As listed.

    Returns
    -------
    SymptomRow

    Raises
    ------
    ReferenceDataError
        No such key; near ones are named.

    Examples
    --------
    >>> symptom_row("white gel").minutes
    5.0
    """
    found = {row.key: row for row in symptom_rows()}
    row = found.get(" ".join(key.casefold().split()))
    if row is None:
        near = difflib.get_close_matches(key.casefold(), found, n=4, cutoff=0.4)
        raise ReferenceDataError(
            f"no symptom {key!r} on file",
            where="symptom",
            allowed=", ".join(near) or "`aerode symptom` lists them",
            next_step="take one of those, or describe it in other words",
        )
    return row
