"""Reading and acknowledging: a STOP blocks until acknowledged and never goes away, what was read folds."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from aerode.errors import StoppedError
from aerode.records.cautions import Acknowledgement, Caution, CautionLevel, CautionSheet

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "folded_keys",
    "require_acknowledged",
    "sheet_lines",
    "still_acknowledged",
    "waiting_for",
]

_WIDTH = 80  # judgement: one line of a terminal
_HEAT = "heat."
"""How the key of a caution on heat begins: read at 130 °C, it was not read at 190 °C, whatever its level."""


def _holds(caution: Caution, said: Acknowledgement) -> bool:
    """Whether an acknowledgement is about this caution as it stands now."""
    if (
        said.caution != caution.key
        or said.about != caution.about
        or said.level is not caution.level
    ):
        return False
    if caution.level is CautionLevel.NOTE and not caution.key.startswith(_HEAT):
        return True
    same = _same(said.figure, caution.figure) and _same(said.limit, caution.limit)
    return same and (caution.level is not CautionLevel.STOP or bool(said.reason.strip()))


def _same(read: str, now: str) -> bool:
    """Whether a figure or limit is the one that was read; a space before "%" is no difference."""
    return read.replace(" %", "%") == now.replace(" %", "%")


def still_acknowledged(
    cautions: Iterable[Caution], acknowledgements: Iterable[Acknowledgement]
) -> tuple[Acknowledgement, ...]:
    """The acknowledgements that hold for these cautions.

    Parameters
    ----------
    cautions : iterable of Caution
        What is on the sheet now.
    acknowledgements : iterable of Acknowledgement
        All that were ever made, in their order.

    Returns
    -------
    tuple of Acknowledgement
        A STOP needs the same figure and limit and a reason; a FIRST the same figure and limit; a NOTE
        the same level, and where it speaks of heat the same figure and limit.
    """
    kept = list(cautions)
    return tuple(a for a in acknowledgements if any(_holds(c, a) for c in kept))


def waiting_for(
    cautions: Iterable[Caution], acknowledged: Iterable[Acknowledgement]
) -> tuple[str, ...]:
    """Keys of the STOPs that none of these acknowledgements covers."""
    said = list(acknowledged)
    return tuple(
        c.key
        for c in cautions
        if c.level is CautionLevel.STOP and not any(_holds(c, a) for a in said)
    )


def folded_keys(sheet: CautionSheet) -> tuple[str, ...]:
    """Keys of the cautions that were read before and stand as one line now; a STOP never does."""
    return tuple(
        c.key
        for c in sheet.cautions
        if c.level is not CautionLevel.STOP and any(_holds(c, a) for a in sheet.acknowledged)
    )


def require_acknowledged(sheet: CautionSheet, ask: str = "") -> None:
    """Refuse to go on while a STOP waits: call it before a bench sheet is printed.

    Parameters
    ----------
    sheet : CautionSheet
        The sheet of what is about to be printed.
    ask : str
        The command that asked, to which the acknowledgement is added; the figure it is given for is
        then the same.

    Raises
    ------
    StoppedError
        Names every STOP that waits and how to acknowledge it.
    """
    if not sheet.waiting:
        return
    stops = [c for c in sheet.cautions if c.key in sheet.waiting]
    asked = ask or f'aerode cautions "{sheet.about[0] if sheet.about else "ITEM"}"'
    raise StoppedError(
        "; ".join(f"STOP {c.hazard}: {c.headline}" for c in stops),
        where=", ".join(sheet.about),
        allowed="going on only with a reason in writing for each STOP; the STOP stays on the page",
        next_step=f"change what is named, or: {asked} "
        f'--acknowledge "{sheet.waiting[0]}" --reason "..."',
    )


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(
        text, width=_WIDTH, initial_indent="", subsequent_indent=indent, break_long_words=False
    )


def _keys_of(sources: tuple[str, ...]) -> str:
    """The short keys of the sources, or the source itself where it has none."""
    keys = [s.rsplit("[", 1)[1].split("]", 1)[0] if "[" in s else s for s in sources]
    return ", ".join(dict.fromkeys(keys))


def _first_sentence(text: str) -> str:
    head, mark, _ = text.partition(". ")
    return head + (mark.strip() or "")


def _entry(caution: Caution, reason: str, *, full: bool) -> list[str]:
    """One caution for people; in short form without its basis, and of a NOTE the first act alone."""
    checked = ", check the safety data sheet" if full else ""
    mark = f" (from memory{checked})" if caution.unverified else ""
    parts = [f"{caution.level.value:5} {caution.hazard}: {caution.headline}{mark}."]
    if full and caution.figure:
        parts.append(f"{caution.figure[:1].upper()}{caution.figure[1:]}.")
    if full and caution.limit:
        parts.append(f"Limit: {caution.limit}.")
    if full and caution.basis:
        parts.append(f"Rests on: {caution.basis}.")
    short = caution.level is CautionLevel.NOTE and not full
    parts.append(_first_sentence(caution.do) if short else caution.do)
    if caution.further and not short:
        parts.append(caution.further)
    if caution.missing:
        parts.append(f"Missing: {'; '.join(caution.missing)}.")
    if reason:
        parts.append(f"Acknowledged: {reason}.")
    cited = _keys_of(caution.source if full else caution.source[:2])
    parts.append(f"Changes with: {caution.would_change}. [{cited}]")
    return _wrapped(" ".join(parts), "      ")


def _folded(caution: Caution) -> list[str]:
    """A caution that was read before: one physical line, its source kept."""
    tail = f" [{_keys_of(caution.source[:1])}]"
    head = f"{caution.level.value:5} {caution.hazard}: {caution.headline}"
    room = _WIDTH - len(tail)
    return [(head if len(head) <= room else head[: room - 1] + "…") + tail]


def sheet_lines(sheet: CautionSheet, *, full: bool = False) -> list[str]:
    """A sheet for people: the verdict, the cautions, hardest first, the standing text.

    Parameters
    ----------
    sheet : CautionSheet
        All cautions.
    full : bool
        Everything about each caution, read before or not.

    Returns
    -------
    list of str
        At most 80 columns after the first. A STOP stands in full, whatever was acknowledged; a
        FIRST stands with what to do, a NOTE with its first act, both as one line once read.
    """
    text = [sheet.headline]
    for caution in sheet.cautions:
        said = next((a for a in sheet.acknowledged if _holds(caution, a)), None)
        stop = caution.level is CautionLevel.STOP
        if said is not None and not stop and not full:
            text += _folded(caution)
        else:
            reason = said.reason if said is not None and stop else ""
            text += _entry(caution, reason, full=full or stop)
    if sheet.waiting:
        text += _wrapped(
            "No bench sheet is printed until each STOP is acknowledged with a reason: "
            "--acknowledge KEY --reason TEXT. Keys: " + ", ".join(sheet.waiting), "  "
        )  # fmt: skip
    return text + _wrapped(sheet.standing_text, "")
