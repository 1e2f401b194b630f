"""The figures that drying, wetting, heating and pressing rest on, each with its source and status.

They stand in a table of their own with their own words; the rows are the same `PublishedRow` as
everywhere, in SI.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from aerode.errors import ReferenceDataError
from aerode.reference.loader import (
    NEVER_READ,
    bibliography,
    parse_bibliography,
    parse_toml,
    read_text,
)
from aerode.reference.rows import HowRead, PublishedRow, Source, UncertaintyKind, ValidRange

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "parse_process_figures",
    "process_figure",
    "process_rows",
    "process_sources",
    "process_words",
]

_FILE = "process_figures.toml"
_TEXTS = ("of", "quantity", "condition", "source", "how", "place", "note")
_NUMBERS = ("value", "low", "high", "uncertainty")
_CLOSED_HOW = {"memory": HowRead.MEMORY, "practice": HowRead.PRACTICE}
_SPAN = re.compile(r"^(\w+)=(\S+)\.\.(\S+) (\S.*)$")


def _refuse(where: str, what: str, allowed: str) -> ReferenceDataError:
    return ReferenceDataError(
        what, where=where, allowed=allowed, next_step="mend that figure of the table"
    )


def _spans(texts: list[str], where: str) -> tuple[ValidRange, ...]:
    found: list[ValidRange] = []
    for text in texts:
        match = _SPAN.match(text)
        if match is None or not float(match[2]) < float(match[3]):
            raise _refuse(where, f"bad range {text!r}", "variable=low..high unit")
        found.append(ValidRange(match[1], float(match[2]), float(match[3]), match[4]))
    return tuple(found)


def _checked(entry: dict[str, Any], where: str, sources: Mapping[str, Source]) -> HowRead:
    """Refuse an entry that does not say what it rests on, or carries no figure or two."""
    unknown = set(entry) - {*_TEXTS, *_NUMBERS, "coefficients", "uncertainty_kind", "range"}
    if unknown or not all(str(entry.get(w, "")).strip() for w in _TEXTS[:5]):
        raise _refuse(where, "an entry with other or empty fields", ", ".join(_TEXTS[:5]))
    if entry["source"] not in sources:
        raise _refuse(where, f"unknown source {entry['source']!r}", "a key of the bibliography")
    how = HowRead(entry["how"])
    closed = _CLOSED_HOW.get(sources[entry["source"]].kind)
    if closed is not None and how is not closed:
        raise _refuse(where, f"{entry['source']!r} cannot be read as {how.value!r}", closed)
    if how is HowRead.READ and sources[entry["source"]].kind in NEVER_READ:
        raise _refuse(where, f"{entry['source']!r} cannot be read as 'read'", "secondary")
    bound = "low" in entry or "high" in entry
    if int("value" in entry or bound) + int("coefficients" in entry) != 1:
        raise _refuse(where, "no figure, or two", "a value, low and high, or coefficients")
    if "low" in entry and "high" in entry and not entry["low"] < entry["high"]:
        raise _refuse(where, "low is not below high", "low below high")
    return how


def _row(
    entry: dict[str, Any], line: int, sources: Mapping[str, Source], words: Mapping[str, Any]
) -> PublishedRow:
    where = f"{_FILE}, line {line}"
    how = _checked(entry, where, sources)
    if entry["quantity"] not in words:
        raise _refuse(where, f"unknown quantity {entry['quantity']!r}", ", ".join(sorted(words)))
    bound = "low" in entry or "high" in entry
    kind = entry.get("uncertainty_kind", "range" if bound else "none stated")
    numbers = {name: None if name not in entry else float(entry[name]) for name in _NUMBERS}
    return PublishedRow(
        table="process_figures",
        line=line,
        substance=entry["of"],
        quantity=entry["quantity"],
        condition=entry["condition"],
        unit=words[entry["quantity"]]["unit"],
        coefficients=tuple((k, float(v)) for k, v in entry.get("coefficients", {}).items()),
        uncertainty_kind=UncertaintyKind(kind),
        source=entry["source"],
        place=entry.get("place", ""),
        valid_range=_spans(entry.get("range", []), where),
        how=how,
        note=entry.get("note", ""),
        **numbers,
    )


def _read(
    entry: dict[str, Any], line: int, sources: Mapping[str, Source], words: Mapping[str, Any]
) -> PublishedRow:
    try:
        return _row(entry, line, sources, words)
    except (TypeError, ValueError) as problem:  # a number or a word of `how` that is none
        raise _refuse(
            f"{_FILE}, line {line}", str(problem), "plain numbers and known words"
        ) from problem


def parse_process_figures(
    text: str, known: Mapping[str, Source]
) -> tuple[tuple[PublishedRow, ...], dict[str, Source], dict[str, Any]]:
    """The rows, the sources and the words of a table text.

    Parameters
    ----------
    text : str
        TOML with `[quantity.*]`, `[source.*]` and `[[figure]]`.
    known : mapping
        Sources that stand in the bibliography already.

    Returns
    -------
    tuple
        `(rows, sources added, words)`.

    Raises
    ------
    ReferenceDataError
        No source, an unknown word, no figure or two, or the same figure twice; file and line are
        named.
    """
    data = parse_toml(text, _FILE)
    words: dict[str, Any] = data.get("quantity", {})
    own = re.sub(r"(?ms)^\[\[figure\]\].*", "", text)
    own = re.sub(r"(?m)^\[source\.", "[", re.sub(r"(?ms)\A.*?(?=^\[source\.)", "", own))
    added = parse_bibliography(own, _FILE)
    sources = {**known, **added}
    starts = [i for i, t in enumerate(text.splitlines(), start=1) if t.startswith("[[figure]]")]
    rows = tuple(
        _read(entry, line, sources, words)
        for entry, line in zip(data.get("figure", ()), starts, strict=True)
    )
    seen: set[tuple[str, str, str]] = set()
    for row in rows:
        key = (row.substance, row.quantity, row.condition)
        if key in seen:
            raise _refuse(f"{_FILE}, line {row.line}", "the same figure twice", "each once")
        seen.add(key)
    return rows, added, words


@lru_cache(maxsize=1)
def _table() -> tuple[tuple[PublishedRow, ...], dict[str, Source], dict[str, Any]]:
    return parse_process_figures(read_text(_FILE), bibliography())


def process_rows() -> tuple[PublishedRow, ...]:
    """Every figure of the table, in its order; read on first use.

    Returns
    -------
    tuple of PublishedRow

    Examples
    --------
    >>> {row.quantity for row in process_rows()} <= set(process_words())
    True
    """
    return _table()[0]


def process_sources() -> dict[str, Source]:
    """The sources that this table adds to the bibliography, by key.

    Returns
    -------
    dict

    Examples
    --------
    >>> process_sources()["nayar_2014"].year
    '2014'
    """
    return _table()[1]


def process_words() -> dict[str, str]:
    """What each word of this table means.

    Returns
    -------
    dict

    Examples
    --------
    >>> process_words()["surface_tension"]
    'surface tension against air'
    """
    return {word: str(entry["means"]) for word, entry in _table()[2].items()}


def process_figure(of: str, quantity: str, condition: str = "") -> PublishedRow:
    """One figure by what it is of, its word, and the head of its condition.

    Parameters
    ----------
    of : str
        As in "thread".
    quantity : str
        A word of this table.
    condition : str
        How the condition begins; "" takes the first.

    Returns
    -------
    PublishedRow
        In SI.

    Raises
    ------
    ReferenceDataError
        No such figure; what is on file is listed.

    Examples
    --------
    >>> process_figure("thread", "nut_factor", "dry").shown
    '0.17 to 0.3'
    """
    named = [row for row in process_rows() if row.substance == of and row.quantity == quantity]
    for row in named:
        if row.condition.startswith(condition):
            return row
    kept = named or [row for row in process_rows() if row.quantity == quantity]
    raise ReferenceDataError(
        f"no {quantity.replace('_', ' ')} of {of} on file"
        + (f" for {condition!r}" if condition else ""),
        allowed="; ".join(f"{row.substance}: {row.condition}" for row in kept)
        or "another quantity",
        next_step="ask for one of those",
    )
