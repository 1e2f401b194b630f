"""Which sources know a figure, and the figure itself, from a named source or the preferred one.

Stated order of preference: verified before secondary before unverified; among equals the order of
the table, whose author put the adopted row first.
"""

from __future__ import annotations

from functools import lru_cache

from aerode.errors import ReferenceDataError
from aerode.reference.loader import bibliography, load_table, quantity_words, table_names
from aerode.reference.rows import PublishedRow, Source
from aerode.reference.substances import resolve

__all__ = ["all_rows", "published", "quantities_of", "select", "source", "sources_for"]


@lru_cache(maxsize=1)
def all_rows() -> tuple[PublishedRow, ...]:
    """Every row of every table; the tables are read on first use."""
    return tuple(row for name in table_names() for row in load_table(name))


@lru_cache(maxsize=1)
def _index() -> dict[tuple[str, str], tuple[PublishedRow, ...]]:
    found: dict[tuple[str, str], list[PublishedRow]] = {}
    for row in all_rows():
        found.setdefault((row.substance, row.quantity), []).append(row)
    return {key: tuple(sorted(rows, key=lambda row: row.preference)) for key, rows in found.items()}


def source(key: str) -> Source:
    """The bibliography entry behind a source key.

    Raises
    ------
    ReferenceDataError
        No such key.

    Examples
    --------
    >>> source("gilliam_2007").year
    '2007'
    """
    found = bibliography().get(key)
    if found is None:
        raise ReferenceDataError(
            f"no source {key!r} in the bibliography",
            allowed="a key of the bibliography page",
            next_step="look at docs/reference/bibliography.md",
        )
    return found


def _known_quantity(quantity: str) -> None:
    if quantity not in quantity_words():
        import difflib

        near = difflib.get_close_matches(quantity, quantity_words(), n=5, cutoff=0.4)
        raise ReferenceDataError(
            f"no quantity {quantity!r}",
            allowed=", ".join(near or sorted(quantity_words())),
            next_step="ask for one of those",
        )


def select(
    substance: str, quantity: str, *, source: str = "", **conditions: str
) -> tuple[PublishedRow, ...]:
    """Every row for a substance and a quantity, preferred first; empty where none is on file.

    Parameters
    ----------
    substance : str
        Name, alias or CAS number.
    quantity : str
        A word of the vocabulary, as in "flash_point".
    source : str
        Only rows of this source key.
    **conditions : str
        Only rows whose condition says so, as in `compilation="IEC"`.

    Returns
    -------
    tuple of PublishedRow
        Verified before secondary before unverified, then as in the table.

    Raises
    ------
    ReferenceDataError
        The substance or the quantity is not known at all.

    Examples
    --------
    >>> [row.value for row in select("toluene", "lower_flammable_limit")]
    [1.1, 1.0]
    """
    _known_quantity(quantity)
    rows = _index().get((resolve(substance), quantity), ())
    return tuple(
        row
        for row in rows
        if (not source or row.source == source)
        and all(row.conditions.get(word) == said for word, said in conditions.items())
    )


def sources_for(substance: str, quantity: str) -> tuple[str, ...]:
    """Which sources know this, preferred first, each once.

    >>> sources_for("toluene", "flash_point")
    ('nfpa_497', 'iec_60079_20_1')
    """
    return tuple(dict.fromkeys(row.source for row in select(substance, quantity)))


def quantities_of(substance: str) -> tuple[str, ...]:
    """The quantities on file for a substance, in alphabetical order.

    >>> "flash_point" in quantities_of("acetone")
    True
    """
    name = resolve(substance)
    return tuple(sorted({quantity for owner, quantity in _index() if owner == name}))


def published(
    substance: str, quantity: str, *, source: str = "", **conditions: str
) -> PublishedRow:
    """The preferred row for a substance and a quantity, or a refusal that lists what is on file.

    Parameters
    ----------
    substance, quantity, source, **conditions
        As for `select`.

    Returns
    -------
    PublishedRow
        The first of `select`.

    Raises
    ------
    ReferenceDataError
        Nothing on file for that; known sources and quantities are listed.

    Examples
    --------
    >>> published("toluene", "flash_point", source="iec_60079_20_1").shown
    '4 degC'
    """
    found = select(substance, quantity, source=source, **conditions)
    if found:
        return found[0]
    known = sources_for(substance, quantity)
    if known:
        said = "; ".join(f"{r.source}: {r.condition}" for r in select(substance, quantity))
        allowed = f"sources and conditions on file: {said}"
    else:
        allowed = f"quantities on file: {', '.join(quantities_of(substance)) or 'none'}"
    raise ReferenceDataError(
        f"no {quantity} of {substance} on file for what was asked",
        where=" ".join([source, *(f"{k}={v}" for k, v in conditions.items())]).strip(),
        allowed=allowed,
        next_step="ask for one of those, or enter the figure of a data sheet",
    )
