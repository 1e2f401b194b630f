"""Cautions and sources as a report tells them: what is the same once, sources by number."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.cautions import Caution, CautionSheet
    from aerode.records.reports import Report

__all__ = ["Told", "adds_to_headline", "plain_reference", "source_numbers", "told_cautions"]

_KEY = re.compile(r"\s*\[[a-z0-9_]+\](?=$|,)")


@dataclass(frozen=True, slots=True)
class Told:
    """One caution, with those of other mixes that ask for the same act from the same sources."""

    caution: Caution
    also: tuple[Caution, ...]


def told_cautions(sheets: Sequence[CautionSheet]) -> tuple[Told, ...]:
    """The cautions of several sheets, hardest first; those that differ only in their figure together.

    Parameters
    ----------
    sheets : sequence of CautionSheet
        In the order of the report.

    Returns
    -------
    tuple of Told
        None is left out: the figure of each stands in it.
    """
    groups: dict[tuple[object, ...], list[Caution]] = {}
    for one in (c for sheet in sheets for c in sheet.cautions):
        key = (one.level, one.hazard.partition(":")[0], one.do, one.source, one.unverified)
        groups.setdefault(key, []).append(one)
    order = ["STOP", "FIRST", "NOTE"]
    told = [Told(first, tuple(rest)) for first, *rest in groups.values()]
    return tuple(sorted(told, key=lambda one: order.index(one.caution.level.value)))


def adds_to_headline(caution: Caution) -> bool:
    """Whether the figure of a caution says more than the headline, which tells the first of it."""
    first = caution.figure.partition(" of ")[0]
    return bool(caution.figure) and (";" in caution.figure or first not in caution.headline)


def source_numbers(report: Report) -> dict[str, int]:
    """The place of each source in the list of the report, from 1, by the text a caution names it with."""
    return {line.reference: k for k, line in enumerate(report.sources, start=1)}


def plain_reference(text: str) -> str:
    """A source without the key it has in the tables of this program.

    >>> plain_reference("Ontario Ministry of Labour, Occupational exposure limits [ontario_limits]")
    'Ontario Ministry of Labour, Occupational exposure limits'
    """
    return _KEY.sub("", text)
