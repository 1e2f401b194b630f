"""Advice that names a command, said for somebody who has only the pages before them."""

from __future__ import annotations

import re

__all__ = ["for_pages"]

_INSTEAD: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), words)
    for pattern, words in (
        (r"say so: --same [\w-]+", "say so under “The same for all” of the comparison"),
        (r"measure it: aerode log run --electrode [^;]+", "measure it: start a run of it"),
        (r"(run )?`aerode bench check`", "check the bench, under More, Data"),
        (r"`aerode bench history[^`]*` lists", "its history, under More, Data, lists"),
        (r"`aerode bench show( [a-z]+)?` lists what is there", "pick it from its list"),
        (r"(settle it|rename one of them): aerode bench settle .*", "look at both states in its history, and keep one"),
        (r"`aerode property` lists them", "More, Figures lists them"),
        (r"what `aerode compare` gives", "what Compare gives"),
    )
)  # fmt: skip


def for_pages(text: str) -> str:
    """A sentence of advice in which a command is said as the place of the pages that does the same.

    >>> for_pages("if it was the same for all, say so: --same gap")
    'if it was the same for all, say so under “The same for all” of the comparison'
    >>> for_pages("check the name; `aerode bench show electrode` lists what is there")
    'check the name; pick it from its list'
    """
    for pattern, words in _INSTEAD:
        text = pattern.sub(words, text)
    return text
