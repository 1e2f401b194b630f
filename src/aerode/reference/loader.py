"""The one loader of the reference tables; it refuses a row that does not say where it comes from.

A table is a CSV file in `tables/` with the columns of `COLUMNS`. Lines that begin with `#` are
remarks. Importing this module reads nothing; a table is read on first use and kept.
"""

from __future__ import annotations

import csv
import math
import re
import tomllib
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from aerode.errors import ReferenceDataError
from aerode.reference.rows import (
    KNOWN_UNITS,
    HowRead,
    PublishedRow,
    Source,
    UncertaintyKind,
    ValidRange,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

__all__ = [
    "COLUMNS",
    "NEVER_READ",
    "bibliography",
    "load_table",
    "parse_bibliography",
    "parse_table",
    "quantity_words",
    "read_text",
    "table_names",
]

COLUMNS = (
    "substance", "quantity", "condition", "value", "low", "high", "coefficients", "unit",
    "uncertainty", "uncertainty_kind", "source", "place", "valid_range", "how", "note",
)  # fmt: skip
_SOURCE_FIELDS = ("authors", "year", "title", "published_in", "doi", "kind")
_SOURCE_KINDS = {
    "paper", "book", "handbook", "standard", "regulation", "agency page", "data sheet", "guide",
    "library", "web page", "practice", "memory",
}  # fmt: skip
_SPAN = re.compile(r"^(\w+)\s*=\s*(\S+?)\.\.(\S+)\s+(\S.*)$")
_CLOSED_HOW = {"memory": HowRead.MEMORY, "practice": HowRead.PRACTICE}
NEVER_READ = ("web page", "data sheet")  # kinds that repeat a figure: see `HowRead`


def _refuse(where: str, what: str, allowed: str) -> ReferenceDataError:
    return ReferenceDataError(
        what, where=where, allowed=allowed, next_step="mend that row of the table"
    )


@lru_cache(maxsize=64)
def read_text(name: str) -> str:
    """The text of one file of the tables folder.

    Raises
    ------
    ReferenceDataError
        No such file.
    """
    place = resources.files("aerode.reference").joinpath("tables", name)
    if not place.is_file():
        raise ReferenceDataError(
            f"there is no reference table {name!r}",
            allowed=", ".join(table_names()),
            next_step="ask for one of those",
        )
    return place.read_text(encoding="utf-8")


@lru_cache(maxsize=1)
def table_names() -> tuple[str, ...]:
    """The names of the tables of figures, in alphabetical order.

    >>> "exposure_limits" in table_names()
    True
    """
    folder = resources.files("aerode.reference").joinpath("tables")
    return tuple(
        sorted(p.name.removesuffix(".csv") for p in folder.iterdir() if p.name.endswith(".csv"))
    )


def toml_lines(text: str) -> dict[str, int]:
    """The line on which each `[key]` of a TOML text stands."""
    found: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        match = re.match(r'^\[\s*"?([^"\]]+?)"?\s*\]\s*$', line)
        if match:
            found.setdefault(match[1], number)
    return found


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """A TOML text as a dictionary; a text that is not TOML is refused with its place."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise _refuse(file, f"not readable: {problem}", "TOML, each key once") from problem


def parse_bibliography(text: str, file: str = "bibliography.toml") -> dict[str, Source]:
    """The sources of a bibliography text by key.

    Parameters
    ----------
    text : str
        TOML, one `[key]` per source with authors, year, title, published_in, doi, kind.
    file : str
        The name to show in a refusal.

    Returns
    -------
    dict
        Key to `Source`.

    Raises
    ------
    ReferenceDataError
        A field is missing or unknown; the message names file and line.
    """
    lines = toml_lines(text)
    found: dict[str, Source] = {}
    for key, fields in parse_toml(text, file).items():
        where = f"{file}, line {lines.get(key, 1)}"
        if not isinstance(fields, dict) or set(fields) != set(_SOURCE_FIELDS):  # pyright: ignore[reportUnknownArgumentType]
            raise _refuse(where, f"the source {key!r} has other fields", ", ".join(_SOURCE_FIELDS))
        entry: dict[str, str] = {str(k): str(v) for k, v in fields.items()}  # pyright: ignore[reportUnknownVariableType, reportUnknownArgumentType]
        if entry["kind"] not in _SOURCE_KINDS:
            raise _refuse(
                where, f"unknown kind {entry['kind']!r}", ", ".join(sorted(_SOURCE_KINDS))
            )
        if not entry["title"].strip():
            raise _refuse(where, f"the source {key!r} has no title", "a title")
        found[key] = Source(key=key, **entry)
    return found


@lru_cache(maxsize=1)
def bibliography() -> dict[str, Source]:
    """Every source by its key, read on first use."""
    return parse_bibliography(read_text("bibliography.toml"))


@lru_cache(maxsize=1)
def quantity_words() -> dict[str, dict[str, Any]]:
    """The vocabulary: each quantity word with its SI unit(s) and one sentence of meaning."""
    return parse_toml(read_text("quantities.toml"), "quantities.toml")


def _number(text: str, where: str, column: str) -> float | None:
    if not text:
        return None
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise _refuse(where, f"{column} {text!r} is not a finite number", "a plain number")
    return number


def _coefficients(text: str, where: str) -> tuple[tuple[str, float], ...]:
    pairs: list[tuple[str, float]] = []
    for part in text.split():
        name, mark, number = part.partition("=")
        value = _number(number, where, f"coefficient {name}")
        if not mark or value is None:
            raise _refuse(where, f"coefficient {part!r} cannot be read", "name=number")
        pairs.append((name, value))
    if len({name for name, _ in pairs}) != len(pairs):
        raise _refuse(where, "a coefficient stands twice", "each name once")
    return tuple(pairs)


def _ranges(text: str, where: str) -> tuple[ValidRange, ...]:
    spans: list[ValidRange] = []
    for part in (p.strip() for p in text.split(";") if p.strip()):
        match = _SPAN.match(part)
        if not match:
            raise _refuse(where, f"bad range {part!r}", "variable=low..high unit")
        low = _number(match[2], where, "range")
        high = _number(match[3], where, "range")
        if low is None or high is None or low >= high:
            raise _refuse(where, f"bad range {part!r}", "low below high")
        if match[4] not in KNOWN_UNITS:
            raise _refuse(where, f"unknown unit {match[4]!r} in a range", ", ".join(KNOWN_UNITS))
        spans.append(ValidRange(match[1], low, high, match[4]))
    return tuple(spans)


def _records(text: str, file: str) -> Iterator[tuple[str, int, dict[str, str]]]:
    """Place, line number and cells of each row that is not a remark."""
    header: tuple[str, ...] | None = None
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip() or line.startswith("#"):
            continue
        where = f"{file}, line {number}"
        cells = [c.strip() for c in next(csv.reader([line], strict=True))]
        if header is None:
            header = tuple(cells)
            if header != COLUMNS:
                raise _refuse(where, f"the columns are {', '.join(cells)}", ", ".join(COLUMNS))
            continue
        if len(cells) != len(COLUMNS):
            raise _refuse(where, f"{len(cells)} cells", f"{len(COLUMNS)} cells")
        yield where, number, dict(zip(COLUMNS, cells, strict=True))


def _check_words(
    cells: Mapping[str, str],
    where: str,
    sources: Collection[str],
    substances: Collection[str],
    quantities: Mapping[str, Mapping[str, Any]],
) -> None:
    """Refuse a row whose words are not in the vocabularies."""
    if not cells["source"]:
        raise _refuse(where, "a figure without a source", "a key of bibliography.toml")
    if cells["source"] not in sources:
        raise _refuse(where, f"unknown source {cells['source']!r}", "a key of bibliography.toml")
    if cells["substance"] not in substances:
        raise _refuse(
            where, f"unknown substance {cells['substance']!r}", "a name of substances.toml"
        )
    if cells["quantity"] not in quantities:
        raise _refuse(
            where, f"unknown quantity {cells['quantity']!r}", ", ".join(sorted(quantities))
        )
    if cells["unit"] not in KNOWN_UNITS:
        raise _refuse(where, f"unknown unit {cells['unit']!r}", ", ".join(KNOWN_UNITS))
    kinds = quantities[cells["quantity"]]["unit"]
    if kinds and KNOWN_UNITS[cells["unit"]] not in kinds:
        raise _refuse(
            where,
            f"{cells['unit']!r} is no unit of {cells['quantity']}",
            f"a unit of the kind {' or '.join(kinds)}",
        )


def _check_figure(row: PublishedRow, where: str) -> None:
    """Refuse a row without a figure, with two, or with ends that are crossed."""
    has_value = row.value is not None
    has_bound = row.low is not None or row.high is not None
    carried = int(has_value or has_bound) + int(bool(row.coefficients))
    if row.absent:
        if carried or not row.note:
            raise _refuse(where, "an absent figure with a number or without a note", "a note alone")
        return
    if carried != 1:
        raise _refuse(where, "no figure, or two", "a value, low and high, or coefficients")
    if row.low is not None and row.high is not None and row.low > row.high:
        raise _refuse(where, "low lies above high", "low at most high")
    if row.value is not None and not (
        (row.low is None or row.low <= row.value) and (row.high is None or row.value <= row.high)
    ):
        raise _refuse(where, "the value lies outside low to high", "a value between them")
    if row.uncertainty is not None and row.uncertainty < 0:
        raise _refuse(where, "a negative uncertainty", "zero or more")
    needs = row.uncertainty_kind not in (UncertaintyKind.RANGE, UncertaintyKind.NONE_STATED)
    if needs != (row.uncertainty is not None):
        raise _refuse(
            where,
            f"uncertainty and its kind {row.uncertainty_kind.value!r} do not go together",
            "a number with standard or limit, none with range or none stated",
        )
    if row.uncertainty_kind is UncertaintyKind.RANGE and not has_bound:
        raise _refuse(where, "kind range without low or high", "low, high or both")
    if row.how is HowRead.DERIVED and "derived" not in row.note:
        raise _refuse(where, "a derived figure whose note does not say how", "derived: ...")


def _choice(kind: type[HowRead] | type[UncertaintyKind], text: str, where: str, column: str) -> Any:
    try:
        return kind(text)
    except ValueError:
        raise _refuse(where, f"unknown {column} {text!r}", ", ".join(kind)) from None


def parse_table(
    text: str,
    name: str,
    *,
    sources: Mapping[str, Source],
    substances: Collection[str],
    quantities: Mapping[str, Mapping[str, Any]],
) -> tuple[PublishedRow, ...]:
    """The rows of one table text, or a refusal that names file and line.

    Parameters
    ----------
    text : str
        CSV with the columns of `COLUMNS`.
    name : str
        Name of the table, without `.csv`.
    sources, substances, quantities : mapping
        What a row may refer to.

    Returns
    -------
    tuple of PublishedRow
        In the order of the file.

    Raises
    ------
    ReferenceDataError
        No source, unknown source, unknown unit, bad range, duplicate key, or no figure.
    """
    found: list[PublishedRow] = []
    seen: dict[tuple[str, ...], int] = {}
    for where, number, cells in _records(text, f"{name}.csv"):
        _check_words(cells, where, sources, substances, quantities)
        how = _choice(HowRead, cells["how"], where, "how")
        closed = _CLOSED_HOW.get(sources[cells["source"]].kind)
        if closed is not None and how is not closed:
            raise _refuse(where, f"{cells['source']!r} cannot be read as {how.value!r}", closed)
        if how is HowRead.READ and sources[cells["source"]].kind in NEVER_READ:
            raise _refuse(where, f"{cells['source']!r} cannot be read as 'read'", "secondary")
        row = PublishedRow(
            table=name,
            line=number,
            substance=cells["substance"],
            quantity=cells["quantity"],
            condition=cells["condition"],
            unit=cells["unit"],
            value=_number(cells["value"], where, "value"),
            low=_number(cells["low"], where, "low"),
            high=_number(cells["high"], where, "high"),
            coefficients=_coefficients(cells["coefficients"], where),
            uncertainty=_number(cells["uncertainty"], where, "uncertainty"),
            uncertainty_kind=_choice(
                UncertaintyKind, cells["uncertainty_kind"], where, "uncertainty_kind"
            ),
            source=cells["source"],
            place=cells["place"],
            valid_range=_ranges(cells["valid_range"], where),
            how=how,
            note=cells["note"],
        )
        _check_figure(row, where)
        key = (row.substance, row.quantity, row.condition, row.source)
        if key in seen:
            raise _refuse(where, f"the same key as line {seen[key]}", "each key once")
        seen[key] = number
        found.append(row)
    return tuple(found)


@lru_cache(maxsize=64)
def load_table(name: str) -> tuple[PublishedRow, ...]:
    """The rows of one table of the package, read on first use.

    Parameters
    ----------
    name : str
        One of `table_names()`.

    Returns
    -------
    tuple of PublishedRow
        In the order of the file.

    Raises
    ------
    ReferenceDataError
        No such table, or a bad row in it.

    Examples
    --------
    >>> load_table("exposure_limits")[0].substance
    'toluene'
    """
    from aerode.reference.substances import substances

    return parse_table(
        read_text(f"{name}.csv"),
        name,
        sources=bibliography(),
        substances=substances(),
        quantities=quantity_words(),
    )
