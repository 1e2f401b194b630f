"""How much fresh air a room wants, limit by limit: the largest need leads and says what it rests on.

What is spread over the day and what is gone in a quarter of an hour are held against limits that
average over other times; a figure never stands without its limit and its assumption.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.cautions.breathing import all_at_once
from aerode.cautions.comparing import plain
from aerode.cautions.limits import DAY, QUARTER, limit_words
from aerode.cautions.rooms import flows_of, left_by_exhaust
from aerode.cautions.sheets import limits_of, short_limits_of
from aerode.physics.room_air import flow_needed, flow_needed_for_dose, purge_time

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.cautions.breathing import Breathed, Source
    from aerode.cautions.situation import Situation

__all__ = ["Need", "airing_words", "fresh_air_words", "needs_of"]

_WINDOWS = {"day": DAY, "quarter hour": QUARTER}
_GOVERNS = {
    "day": "the limit over the day governs",
    "quarter hour": "this short-term limit governs",
    "instant": "this limit at any moment governs",
}
_OVER_IT = "Right over the wet thing there is more than in the room."


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """The fresh air [m^3/s] for one kind of limit, with the limits and what is let evaporate.

    `stands_in` names the substances without a limit over 15 min on file, whose limit of a day is held
    over the 15 min instead.
    """

    kind: str
    flow: float
    limits: tuple[str, ...]
    assumed: str
    stands_in: tuple[str, ...] = ()


def _assumed(kind: str, gone: float, mass: float) -> str:
    """What is let evaporate [kg] over the time of the limit."""
    if kind == "instant":
        grams_a_minute = 60e3 * gone  # s in a minute, g in a kilogram: by definition
        return f"evaporating no faster than {plain(grams_a_minute)} g a minute"
    if gone < mass * (1.0 - 1e-9):  # numerical
        over = {"day": "8 h", "quarter hour": "any 15 min"}[kind]
        return f"with at most {plain(1e3 * gone)} g of it evaporating in {over}"
    return {"day": "spread over 8 h", "quarter hour": "if all of it evaporates within 15 min"}[kind]


def _limit_of(situation: Situation, name: str, kind: str) -> tuple[float, str, bool] | None:
    """The strictest limit of a kind [kg/m^3], its words, and whether that of a day stands in for it."""
    short = kind == "quarter hour"
    held = short_limits_of(situation, name) if short else limits_of(situation, name, kind)
    if held.strictest is None:
        return None
    stands_in = short and limits_of(situation, name, kind).strictest is None
    more = ["from memory"] if held.memory is not None and not stands_in else []
    more += ["at any moment"] if kind == "instant" and " over " not in held.strictest.shown else []
    return held.strictest.value, limit_words(held.strictest.shown, ", ".join(more)), stands_in


def _need(situation: Situation, sources: list[Source], kind: str) -> Need | None:
    flow, gone, mass = 0.0, 0.0, 0.0
    limits: list[str] = []
    stand_in: list[str] = []
    left = left_by_exhaust(situation.air).high
    for s in sources:
        found = _limit_of(situation, s.substance, kind)
        if found is None:
            continue
        limit, words, stands_in = found
        limits.append(words)
        stand_in += [s.substance] if stands_in else []
        mass += s.mass
        if kind == "instant":
            rate = s.mass / QUARTER if all_at_once(s) else s.high
            gone += rate
            flow += flow_needed(left * rate, limit, share=situation.target_share)
        else:
            window = _WINDOWS[kind]
            escapes = min(s.mass, s.high * window)
            gone += escapes
            flow += flow_needed_for_dose(left * escapes, limit, window, share=situation.target_share)  # fmt: skip
    if not flow > 0.0:
        return None
    return Need(
        kind=kind, flow=flow, limits=tuple(limits), assumed=_assumed(kind, gone, mass),
        stands_in=tuple(stand_in),
    )  # fmt: skip


def needs_of(situation: Situation, sources: list[Source]) -> tuple[Need, ...]:
    """The fresh air that keeps the room below the chosen share of each kind of limit, largest first.

    Parameters
    ----------
    situation : Situation
        What is about to be done.
    sources : list of Source
        What evaporates.

    Returns
    -------
    tuple of Need
        Over the day, over 15 min and at any moment, as far as limits are on file. Well mixed:
        `flow_needed_for_dose` of what evaporates in the window, `flow_needed` of the highest rate; where
        nothing is known of the rate, the rate at which all of it is gone in 15 min.
    """
    found = [_need(situation, sources, kind) for kind in ("quarter hour", "day", "instant")]
    return tuple(sorted((n for n in found if n), key=lambda need: -need.flow))


def _of_limit(situation: Situation, words: Sequence[str]) -> str:
    """The share of the limits that is aimed at, named with value and averaging time."""
    each = tuple(dict.fromkeys(words))
    together = "limits together, " if len(each) > 1 else ""
    return f"{units.per_cent(situation.target_share)} of the {together}{' + '.join(each)}"


def _an_hour(count: float) -> str:
    said = plain(count)
    return f"{said} air change{'' if said == '1' else 's'} an hour"


def fresh_air_words(situation: Situation, sources: list[Source]) -> tuple[str, str]:
    """The fresh air that the room wants, in sentences: the governing limit, and the others.

    Parameters
    ----------
    situation : Situation
        What is about to be done.
    sources : list of Source
        What evaporates.

    Returns
    -------
    tuple of str
        The largest need; then the others, and for what no limit over 15 min is on file. Both "" in the
        open air and where no limit is on file.
    """
    flows = flows_of(situation.air)
    needs = needs_of(situation, sources)
    if not needs or math.isinf(flows.volume):
        return "", ""
    lead, *rest = needs
    ach = f" ({_an_hour(lead.flow * 3600 / flows.volume)})" if flows.volume > 0.0 else ""
    governs = f": {_GOVERNS[lead.kind]}" if rest else ""
    first = (
        f"Fresh air for the room: {plain(lead.flow * 3600)} m³/h{ach} {lead.assumed}, for "
        f"{_of_limit(situation, lead.limits)}{governs}. {_OVER_IT}"
    )
    others = [
        f"{need.assumed[0].upper()}{need.assumed[1:]} it would be {plain(need.flow * 3600)} m³/h, for "
        f"{_of_limit(situation, need.limits)}."
        for need in rest
    ]
    alone = tuple(dict.fromkeys(name for need in needs for name in need.stands_in))
    if alone:
        others.append(
            f"No limit over 15 min is on file for {' and '.join(alone)}: its limit of the day is held over 15 min instead."
        )
    return first, " ".join(others)


def airing_words(situation: Situation, airs: dict[str, Breathed]) -> str:
    """How long to stay out once it is dry, until the room is down to a share of the limit of a day.

    Parameters
    ----------
    situation : Situation
        What is about to be done.
    airs : dict
        What is breathed of each substance.

    Returns
    -------
    str
        "" where the air changes have no known end or no time is needed.
    """
    flows = flows_of(situation.air)
    airing = flows.low or flows.high  # the least that is known, else the most a closed room has
    if not 0.0 < airing < math.inf:
        return ""
    held = [
        (air.far_peak.high / limit.value, limit_words(limit.shown))
        for name, air in airs.items()
        if (limit := limits_of(situation, name, "day").strictest)
        and 0.0 < air.far_peak.high < math.inf
    ]
    times = sum(ratio for ratio, _ in held)
    share = situation.target_share
    if not times > share:
        return ""
    hours = purge_time(times, share, airing, flows.volume) / 3600
    words = _of_limit(situation, [one for _, one in held])
    return (
        f"Once it is dry stay out for {plain(hours)} h of airing at {_an_hour(airing * 3600 / flows.volume)}, "
        f"until the room is down to {words}."
    )
