"""Two writers at one run: what each added since both read it, put together; nothing of either is lost."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

from aerode.records.runs import Reading, Run, Settling

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["is_watched", "merged_run"]

_LISTS = ("readings", "observations")
_STEP = 0.1
"""Between two timed readings that came at the same tenth of a second [s]."""


def is_watched(reading: Reading) -> bool:
    """Whether its load is still on and nobody has taken it: it has timed readings and no waiting time."""
    return bool(reading.trace) and reading.waited is None


def merged_run(base: Run, mine: Run, theirs: Run) -> Run | None:
    """A run that holds what both writers did to it since `base`.

    Readings that were appended stand one after the other, theirs first; timed readings of a load
    that both watched are one trace. A load that is still watched stays the last.

    Parameters
    ----------
    base : Run
        The state that both read.
    mine : Run
        The state that is to be stored.
    theirs : Run
        The state that was stored meanwhile.

    Returns
    -------
    Run or None
        None where both changed the same thing in different ways: a person has to look.
    """
    values: dict[str, Any] = {}
    for field in fields(Run):
        if field.name in _LISTS:
            continue
        before, own, other = (getattr(run, field.name) for run in (base, mine, theirs))
        if own in (before, other):
            values[field.name] = other
        elif other == before:
            values[field.name] = own
        elif field.name == "note":
            values["note"] = "; ".join(dict.fromkeys(part for part in (other, own) if part))
        elif field.name == "planned_loads":
            loads = _left_out_by_both(before, own, other)
            if loads is None:
                return None
            values["planned_loads"] = loads
        else:
            return None
    readings = _readings(base.readings, mine.readings, theirs.readings)
    looks = _looks(base.observations, mine.observations, theirs.observations)
    if readings is None or looks is None:
        return None
    return replace(theirs, **values, readings=readings, observations=looks)


def _left_out_by_both(
    base: tuple[str, ...], mine: tuple[str, ...], theirs: tuple[str, ...]
) -> tuple[str, ...] | None:
    """The planned loads without those that either has skipped; None where one planned others."""
    if Counter(mine) - Counter(base) or Counter(theirs) - Counter(base):
        return None
    gone = (Counter(base) - Counter(mine)) | (Counter(base) - Counter(theirs))
    left: list[str] = []
    for load in reversed(base):  # the last of several equal ones is the one that is skipped
        if gone[load]:
            gone[load] -= 1
        else:
            left.append(load)
    return tuple(reversed(left))


def _looks(base: Sequence[Any], mine: Sequence[Any], theirs: Sequence[Any]) -> tuple[Any, ...] | None:  # fmt: skip
    known = len(base)
    if tuple(mine[:known]) != tuple(base) or tuple(theirs[:known]) != tuple(base):
        return None
    return (*theirs, *mine[known:])


@dataclass(slots=True)
class _Line:
    """A reading of the merged run, and where it stood in mine."""

    reading: Reading
    mine: int | None = None


def _readings(
    base: Sequence[Reading], mine: Sequence[Reading], theirs: Sequence[Reading]
) -> tuple[Reading, ...] | None:
    lines: list[_Line] = []
    own: list[_Line] = []
    for place, before in enumerate(base):
        last = place == len(base) - 1 and is_watched(before)
        one = mine[place] if place < len(mine) else None
        other = theirs[place] if place < len(theirs) else None
        if one is None or other is None:
            if not last:
                return None  # readings are never taken out
            if one is None and other == before and len(theirs) == len(base):
                continue  # I let go of the load, and nobody else was at it
            if other is None and one == before and len(mine) == len(base):
                continue
            kept = one if other is None else other
            assert kept is not None
            lines.append(_Line(kept, place if kept is one else None))
        elif one in (before, other):
            lines.append(_Line(other, place))
        elif other == before:
            lines.append(_Line(one, place))
        elif last and (joined := _joined(one, other)) is not None:
            lines.append(_Line(joined, place))
        elif last:
            lines.append(_Line(other))
            own.append(_Line(one, place))
        else:
            return None
    lines += [_Line(one) for one in theirs[len(base) :]]
    own += [_Line(one, place) for place, one in enumerate(mine) if place >= len(base)]
    return _numbered(_watched_last(lines, own), len(base))


def _watched_last(lines: list[_Line], own: list[_Line]) -> list[_Line]:
    """Mine behind theirs; a load that they still watch stays the last, or is closed where I watch one."""
    if not own or not lines or not is_watched(lines[-1].reading):
        return lines + own
    open_one = lines.pop()
    if not is_watched(own[-1].reading):
        return [*lines, *own, open_one]
    joined = _joined(own[-1].reading, open_one.reading)
    if joined is not None:
        return [*lines, *own[:-1], _Line(joined, own[-1].mine)]
    closed = replace(
        open_one.reading, waited=open_one.reading.trace[-1][0], settling=Settling.NOT_SETTLED
    )
    return [*lines, _Line(closed, open_one.mine), *own]


def _joined(one: Reading, other: Reading) -> Reading | None:
    """Two readings of one load that was watched by both, as one; None where they are two readings."""
    if one.load != other.load or (not is_watched(one) and not is_watched(other)):
        return None
    if not one.trace or not other.trace:
        return None
    last = max((r for r in (one, other) if is_watched(r)), key=lambda r: r.trace[-1][0])
    taken = next((r for r in (one, other) if not is_watched(r)), last)
    trace = _one_trace(one.trace, other.trace)
    if taken is last:
        return replace(last, trace=trace, voltage=trace[-1][1])
    return replace(taken, trace=trace)


def _one_trace(
    one: Sequence[tuple[float, float]], other: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], ...]:
    """The timed readings of both, each once, in the order of time; no two at one moment."""
    found: list[tuple[float, float]] = []
    for moment, voltage in sorted({*one, *other}):
        at = moment if not found else max(moment, round(found[-1][0] + _STEP, 1))
        found.append((at, voltage))
    return tuple(found)


def _numbered(lines: list[_Line], known: int) -> tuple[Reading, ...]:
    """The readings, with what of mine replaces another one pointing to where that stands now."""
    places = {line.mine: place for place, line in enumerate(lines) if line.mine is not None}
    return tuple(
        replace(line.reading, replaces=places.get(line.reading.replaces, line.reading.replaces))
        if line.mine is not None and line.mine >= known and line.reading.replaces is not None
        else line.reading
        for line in lines
    )
