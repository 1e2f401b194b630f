"""Field names and record words as a person reads them."""

from __future__ import annotations

__all__ = ["plain_words"]


def plain_words(name: str) -> str:
    """The name of a field as words: the same words as on the command line, without underscores.

    >>> plain_words("wetted_area")
    'wetted area'
    """
    return name.replace("_", " ")
