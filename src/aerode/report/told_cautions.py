"""Cautions and sources as a report tells them: what is the same once, sources by number."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.cautions import Caution, CautionSheet
    from aerode.records.reports import Report

__all__ = [
    "Told",
    "adds_to_headline",
    "figure_beside",
    "more_to_do",
    "plain_reference",
    "source_numbers",
    "told_cautions",
]

_VAPOUR = ("vapour.breathed", "vapour.fire")
"""Cautions with a share; without one nothing bounds it."""
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_KEY = re.compile(r"\s*\[[a-z0-9_]+\](?=$|,)")


@dataclass(frozen=True, slots=True)
class Told:
    """One caution, with those of other mixes that ask for the same first act from the same sources."""

    caution: Caution
    also: tuple[Caution, ...]


def told_cautions(sheets: Sequence[CautionSheet]) -> tuple[Told, ...]:
    """The cautions of several sheets, hardest first; those that differ only in their figures together.

    Within a level and a hazard the vapour that may pass its limit the most leads.

    Parameters
    ----------
    sheets : sequence of CautionSheet
        In the order of the report.

    Returns
    -------
    tuple of Told
        None is left out: what each says beyond the first stands in it (`more_to_do`).
    """
    groups: dict[tuple[object, ...], list[Caution]] = {}
    for one in (c for sheet in sheets for c in sheet.cautions):
        key = (
            one.level,
            one.hazard.partition(":")[0],
            _sentences(one.do)[:1],
            one.source,
            one.unverified,
        )
        groups.setdefault(key, []).append(one)
    order = ["STOP", "FIRST", "NOTE"]
    places: dict[str, int] = {}
    for one in (held[0] for held in groups.values()):
        places.setdefault(one.hazard, len(places))
    worst_first = [sorted(held, key=_reached, reverse=True) for held in groups.values()]
    told = [Told(first, tuple(rest)) for first, *rest in worst_first]
    return tuple(
        sorted(
            told,
            key=lambda one: (
                order.index(one.caution.level.value),
                places[one.caution.hazard],
                -_reached(one.caution),
            ),
        )
    )


def _reached(caution: Caution) -> float:
    """How many times its limit a vapour may come to; without an end where nothing bounds it."""
    if caution.share is None:
        return math.inf if caution.key in _VAPOUR else 0.0
    return caution.share


def _sentences(text: str) -> tuple[str, ...]:
    """The sentences of an act, without their points.

    >>> _sentences("Air it. Lid on.")
    ('Air it', 'Lid on')
    """
    return tuple(one for part in text.split(". ") if (one := part.strip().rstrip(".")))


def more_to_do(caution: Caution, first: Caution) -> str:
    """The sentences of what to do, and of how, that the first of a group does not have already.

    Parameters
    ----------
    caution : Caution
        One of those told beside the first.
    first : Caution
        The one that is told at full length.

    Returns
    -------
    str
        "" where they say the same.
    """
    said = {*_sentences(first.do), *_sentences(first.further)}
    more = [
        one for one in (*_sentences(caution.do), *_sentences(caution.further)) if one not in said
    ]
    return " ".join(f"{one}." for one in more)


def adds_to_headline(caution: Caution) -> bool:
    """Whether the figure of a caution says more than the headline, which tells the first of it."""
    return bool(figure_beside(caution))


def figure_beside(caution: Caution) -> str:
    """What the figure of a caution says beyond its headline, for one that is told beside another.

    Parameters
    ----------
    caution : Caution
        With a figure of parts, the first of which is mostly told in the headline.

    Returns
    -------
    str
        The whole figure where the headline does not have every number of its first part.
    """
    head, _, tail = caution.figure.partition("; ")
    amounts = head.partition(" from ")[0].partition(" of ")[0]
    told = all(n in _NUMBER.findall(caution.headline) for n in _NUMBER.findall(amounts))
    return (
        tail
        if amounts and told and amounts.partition(" ")[0] in caution.headline
        else caution.figure
    )


def source_numbers(report: Report) -> dict[str, int]:
    """The place of each source in the list of the report, from 1, by the text a caution names it with."""
    return {line.reference: k for k, line in enumerate(report.sources, start=1)}


def plain_reference(text: str) -> str:
    """A source without the key it has in the tables of this program.

    >>> plain_reference("Ontario Ministry of Labour, Occupational exposure limits [ontario_limits]")
    'Ontario Ministry of Labour, Occupational exposure limits'
    """
    return _KEY.sub("", text)
