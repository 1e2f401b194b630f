"""A source as a person reads it, in place of the key it has in the tables of this program."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import reference
from aerode.errors import ReferenceDataError
from aerode.reference.process_figures import process_sources

if TYPE_CHECKING:
    from aerode.reference.rows import Source

__all__ = ["named_source", "without_key"]

_PRACTICE = "common practice, no source"


def _entry(key: str) -> Source | None:
    try:
        return process_sources().get(key) or reference.source(key)
    except ReferenceDataError:  # a data sheet, or words already
        return None


def named_source(key: str) -> str:
    """Who said it, and when; words that are no key stay as they are.

    Parameters
    ----------
    key : str
        Of the bibliography, or "data sheet: maker 2024".

    Returns
    -------
    str

    Examples
    --------
    >>> named_source("nayar_2014"), named_source("data sheet: maker 2024")
    ('K. G. Nayar and others, 2014', 'data sheet: maker 2024')
    """
    entry = _entry(key)
    if entry is None:
        return key
    if key == "common_practice" or not entry.authors:
        return _PRACTICE if key == "common_practice" else entry.title
    first, *others = entry.authors.split(", ")
    several = len(others) > 0 and not others[0].startswith("after ")
    who = f"{first} and others" if several else entry.authors
    return f"{who}, {entry.year}" if entry.year else who


def without_key(line: str) -> str:
    """A line of sources, "key: who, what, where", without its key; any other line as it is.

    Examples
    --------
    >>> without_key("nayar_2014: K. G. Nayar, Surface tension"), without_key("data sheet: maker 2024")
    ('K. G. Nayar, Surface tension', 'data sheet: maker 2024')
    """
    key, _, rest = line.partition(": ")
    return rest if _entry(key) is not None else line
