"""Inputs that overturn nothing, in one sentence: thirty rows of "no change" say no more."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.comparisons import Overturn

__all__ = ["could_not"]

_TRIED = re.compile(r"no change from (\S+) to (\S+) (.+) does it$")
_SIGNS = "+-\N{MINUS SIGN}"


def could_not(far: Sequence[Overturn]) -> tuple[str, ...]:
    """The inputs no change of which carries the verdict anywhere, in one sentence; others with their reason.

    Parameters
    ----------
    far : sequence of Overturn [record]
        Those without another verdict.

    Returns
    -------
    tuple of str
        All are named, and by how much each was changed at least.

    Examples
    --------
    >>> from aerode.records.comparisons import Overturn, Verdict
    >>> kept = {"contrast": "a over b", "change": None, "in_uncertainties": None, "to_verdict": None}
    >>> why = "no change from -27.1 to +27.1 % does it"
    >>> could_not([Overturn(input=f"area of {name}", unit="%", from_verdict=Verdict.SHOWN, reason=why, **kept)
    ...            for name in ("T1", "T2")])
    ('Not one of 2 inputs overturns it alone, each changed by 27.1 % or more: area of T1, area of T2.',)
    """
    tried = [one for one in far if _TRIED.search(one.reason)]
    others: dict[str, list[str]] = {}
    for one in far:
        if one not in tried:
            others.setdefault(one.reason or "no change does it", []).append(one.input)
    said: list[str] = []
    if tried:
        names = ", ".join(one.input for one in tried)
        head = (
            f"Not one of {len(tried)} inputs overturns it"
            if len(tried) > 1
            else "This does not overturn it"
        )
        said.append(f"{head} alone, each changed by {_at_least(tried)} or more: {names}.")
    said += [f"{why[:1].upper()}{why[1:]}: {', '.join(names)}." for why, names in others.items()]
    return tuple(said)


def _at_least(tried: Sequence[Overturn]) -> str:
    """For each unit the change that the least changed input went through."""
    least: dict[str, tuple[float, str]] = {}
    for one in tried:
        found = _TRIED.search(one.reason)
        if found is None:
            continue
        size, text = max((abs(float(t.replace(_SIGNS[-1], "-"))), t.lstrip(_SIGNS)) for t in found.groups()[:2])  # fmt: skip
        unit = found[3].replace("/", " a ") if found[3].startswith("%/") else found[3]
        if unit not in least or size < least[unit][0]:
            least[unit] = (size, text)
    return ", ".join(f"{text} {unit}" for unit, (_, text) in least.items())
