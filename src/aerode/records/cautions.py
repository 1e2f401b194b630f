"""A caution: what can hurt someone, before the act."""

from __future__ import annotations

from enum import StrEnum

from aerode.records.marks import record

__all__ = ["STANDING_TEXT", "Acknowledgement", "Caution", "CautionLevel", "CautionSheet", "Finding"]

STANDING_TEXT = (
    "A screening estimate from published models, with its inputs and limits named. It is not a "
    "measurement, not a compliance finding, and no substitute for the safety data sheet, local codes "
    "or a licensed professional. Where they disagree, follow them."
)


class CautionLevel(StrEnum):
    """How hard the caution stops."""

    STOP = "STOP"
    """Do not do it."""
    FIRST = "FIRST"
    """Do the named thing before."""
    NOTE = "NOTE"


class Finding(StrEnum):
    """How the figure stands to its limit. Never "safe"."""

    ABOVE = "above"
    BELOW = "below"
    STRADDLES = "cannot tell"
    """The band reaches over the limit; `missing` names the input that would decide."""
    NO_LIMIT = "no limit on file"
    NO_FIGURE = "no figure on file"
    PLAIN = "plain caution"
    """A caution that rests on no comparison of numbers."""


@record
class Caution:
    """One line: level, hazard, the figure beside its limit, what it rests on, what to do.

    `key` stays the same from day to day, so that a caution already read can fold to one line.
    """

    key: str
    level: CautionLevel
    hazard: str
    headline: str
    finding: Finding = Finding.PLAIN
    figure: str = ""
    limit: str = ""
    share: float | None = None
    """Of a vapour: how many times the limit that is passed the most it may come to; None: without an end, or
    another hazard."""
    basis: str = ""
    source: tuple[str, ...]
    unverified: bool = False
    do: str
    further: str = ""
    """How what is missing is found out, and what else stands beside the act; no act hides here."""
    missing: tuple[str, ...] = ()
    would_change: str = ""
    about: tuple[str, ...] = ()
    """Names of the mix, room, press, electrode or cell it is about."""


@record
class Acknowledgement:
    """A person's reason for going on in spite of a STOP; it never removes the STOP.

    For a FIRST or a NOTE it says that the caution was read: from then on it folds to one line.
    `level`, `figure` and `limit` are what was on the page at that time: a STOP whose figure or limit
    has changed since has to be acknowledged again; a FIRST, and a NOTE on heat, that speaks of another
    figure or limit was not read, and unfolds; so does every caution that got harder.
    """

    name: str
    caution: str
    about: tuple[str, ...] = ()
    reason: str
    made: str = ""
    level: CautionLevel | None = None
    figure: str = ""
    limit: str = ""


@record
class CautionSheet:
    """All cautions for one thing, hardest first."""

    schema: str = "aerode.cautions/1"
    headline: str
    about: tuple[str, ...]
    cautions: tuple[Caution, ...]
    acknowledged: tuple[Acknowledgement, ...] = ()
    """Those that still hold for what is on this sheet."""
    waiting: tuple[str, ...] = ()
    """Keys of the STOPs that nobody has acknowledged: no bench sheet is printed while there is one."""
    standing_text: str = STANDING_TEXT
