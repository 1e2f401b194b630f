"""How what is breathed stands to every limit on file: which of them lead, and the level that follows.

Each amount is held against the limits that average as it does: the worst 15 min, the mean of a day,
the peak against a ceiling and against the level dangerous at once. What may be passed the most leads,
by the high end of its band, so that more of a liquid never tells of a milder share; the level dangerous
at once is named first wherever the peak may pass it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.cautions.comparing import Band, compare, level_of, per_cent
from aerode.cautions.limits import limit_words
from aerode.cautions.sheets import limits_of, short_limits_of
from aerode.records.cautions import Finding

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from aerode.cautions.breathing import Breathed
    from aerode.cautions.lookup import Figure
    from aerode.cautions.situation import Situation
    from aerode.records.cautions import CautionLevel

__all__ = [
    "KINDS",
    "Held",
    "Standing",
    "alike",
    "band_of",
    "hardest",
    "held_words",
    "most_of",
    "others_words",
    "standing",
]

KINDS = ("day", "quarter hour", "instant", "escape")
_HARDER = {Finding.BELOW: 0, Finding.STRADDLES: 1, Finding.ABOVE: 2}
_AT_PEAK = "held against the peak"


@dataclass(frozen=True, slots=True)
class Held:
    """What is breathed in units of one kind of limit, summed over the mixture, with those limits."""

    kind: str
    ratio: Band
    figures: tuple[Figure, ...]

    @property
    def published(self) -> bool:
        """Whether each of the limits was read somewhere."""
        return all(f.published for f in self.figures)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """The finding over all limits, its level, and which limits tell it.

    `lead` carries the finding; `worst` may be passed the most of all that may carry this level;
    `dangerous` is the level dangerous at once where the peak may pass it; `others` may be passed
    too; `every` holds all that may carry this level.
    """

    finding: Finding
    level: CautionLevel
    lead: Held
    worst: Held
    dangerous: Held | None
    others: tuple[Held, ...]
    every: tuple[Held, ...]

    @property
    def named(self) -> tuple[Held, ...]:
        """The limits of the headline, each once: dangerous at once, passed the most, of the finding."""
        kept = (self.dangerous, self.worst, self.lead)
        return tuple(dict.fromkeys(one for one in kept if one is not None))


def alike(kind: str) -> str:
    """The kind over which a limit is compared: one to escape by is held against the peak.

    Parameters
    ----------
    kind : str
        One of `KINDS`.

    Returns
    -------
    str

    Examples
    --------
    >>> alike("escape"), alike("day")
    ('instant', 'day')
    """
    return "instant" if kind == "escape" else kind


def band_of(air: Breathed, kind: str) -> Band:
    """What is breathed [kg/m^3], taken over the time of a kind of limit."""
    return {"day": air.day, "quarter hour": air.quarter_hour}.get(kind, air.instant)


def _sums(situation: Situation, airs: Mapping[str, Breathed], *, memory: bool) -> list[Held]:
    """The additive mixture rule, one entry for each kind of limit that is on file at all.

    With what is from memory, the limit of a day stands in over 15 min where none is on file.
    """
    found: list[Held] = []
    for kind in KINDS:
        low, high = 0.0, 0.0
        held: list[Figure] = []
        for name, air in airs.items():
            short = memory and kind == "quarter hour"
            limits = short_limits_of(situation, name) if short else limits_of(situation, name, kind)
            limit = limits.strictest if memory else limits.published
            if limit is None:
                continue
            ratio = band_of(air, kind).over(limit.value)
            low, high = low + ratio.low, high + ratio.high
            held.append(limit)
        if held:
            found.append(Held(kind, Band(low, high), tuple(held)))
    return found


def hardest(held: Iterable[Held]) -> Held:
    """The one that stands hardest against its limit; among equals the one that may be passed the most."""
    return max(held, key=lambda s: (_HARDER[compare(s.ratio)], s.ratio.high, s.ratio.low))


def most_of(held: Iterable[Held]) -> Held:
    """The one that may be passed the most, by its high end."""
    return max(held, key=lambda one: (one.ratio.high, one.ratio.low))


def standing(
    situation: Situation, airs: Mapping[str, Breathed], *, stops: bool = True
) -> Standing | None:
    """How what is breathed stands to all limits.

    Parameters
    ----------
    situation : Situation
        With its sheets.
    airs : mapping
        What is breathed of each substance.
    stops : bool
        Whether it may come to a STOP; False where the room is only supposed.

    Returns
    -------
    Standing or None
        A STOP is carried and told by published limits alone; else the lower of published and from
        memory counts for each kind. None: no limit on file.
    """
    published, strict = _sums(situation, airs, memory=False), _sums(situation, airs, memory=True)
    if not strict:
        return None
    stopped = stops and any(compare(one.ratio) is Finding.ABOVE for one in published)
    pool = published if stopped else strict
    over = [one for one in dict.fromkeys((*pool, *strict)) if one.ratio.high > 1.0]
    peaks = [one for one in over if one.kind == "escape"]
    dangerous = hardest(peaks) if peaks else None
    lead = hardest(pool)
    if dangerous in pool and compare(dangerous.ratio) is compare(lead.ratio) is Finding.ABOVE:
        lead = dangerous
    finding = compare(lead.ratio)
    worst = most_of(pool)
    told = (lead, worst, dangerous)
    return Standing(
        finding=finding, level=level_of(finding, published=stopped), lead=lead, worst=worst,
        dangerous=dangerous, others=tuple(one for one in over if one not in told),
        every=tuple(pool),
    )  # fmt: skip


def held_words(held: Held) -> str:
    """The limits of one kind for people, with their averaging time.

    Parameters
    ----------
    held : Held
        One kind.

    Returns
    -------
    str
    """
    at_peak = _AT_PEAK if alike(held.kind) == "instant" else ""
    said = " + ".join(limit_words(f.shown, at_peak) for f in held.figures)
    if held.kind == "escape":
        said = said.replace("limit of", "level dangerous at once of")
    return f"limits together, {said}" if len(held.figures) > 1 else said


def others_words(stands: Standing) -> str:
    """The limits that may be passed too and stand in no headline, each with its share; "" without one.

    Parameters
    ----------
    stands : Standing
        How it stands to all limits.

    Returns
    -------
    str
    """
    most = sorted(stands.others, key=lambda one: -one.ratio.high)
    told = [
        f"come to {per_cent(Band(high, high))} of the {held_words(one)}"
        if math.isfinite(high := one.ratio.high)
        else f"pass the {held_words(one)}"
        for one in most
    ]
    return f"The vapour may also {'; '.join(told)}." if told else ""
