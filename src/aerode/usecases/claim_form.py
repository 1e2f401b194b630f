"""A claim from what was typed, and its outlook as a table: how many builds each spread asks for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from aerode import units
from aerode.errors import AerodeError, InputError, RecordError, UnitError
from aerode.measure.comparison import typed
from aerode.records.adapter import read
from aerode.records.places import Claim
from aerode.records.reports import Table

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from aerode.records.comparisons import ClaimOutlook

__all__ = ["claim_from_texts", "outlook_table", "point_words"]

_NO_RATIO = 2.0  # judgement
"""From here on nobody means a ratio by bare digits in a field of per cent."""
_AT_VOLTAGE = "current density at a cell voltage"
_AT_CURRENT = "voltage at a current density"


def claim_from_texts(
    texts: Mapping[str, str], *, made: str
) -> tuple[Claim | None, float | None, dict[str, tuple[str, str]]]:
    """A claim from the fields of a form.

    Parameters
    ----------
    texts : mapping of str to str
        name, question, factor, at, margin, builds, looks, spread, note; as typed.
    made : str
        Date, ISO 8601.

    Returns
    -------
    claim : Claim or None
        None where a field cannot be read.
    spread : float or None [1]
        Between builds, from earlier work.
    faults : dict of str to (str, str)
        Field to what is wrong and what is allowed.
    """
    told = {name: text.strip() for name, text in texts.items()}
    faults: dict[str, tuple[str, str]] = {}

    def taken(name: str, reader: Callable[[str], Any], absent: Any) -> Any:
        if not told.get(name):
            return absent
        try:
            return reader(told[name])
        except AerodeError as refusal:
            faults[name] = (refusal.what, refusal.allowed)
            return absent

    voltage, density = taken("at", typed.point_from_text, (None, None))
    spread = taken("spread", lambda text: typed.share_from_text(text, "spread"), None)
    entered: dict[str, Any] = {
        "name": told.get("name", ""),
        "question": told.get("question", "") or told.get("name", ""),
        "factor": told.get("factor", ""),
        "at": voltage if voltage is not None else density,
        "response": _AT_CURRENT if density is not None else _AT_VOLTAGE,
        "margin": taken("margin", _difference, 1.10),
        "builds": taken("builds", _count, None),
        "looks": taken("looks", _count, 1),
        "made": made,
        "note": told.get("note", ""),
    }
    if not told.get("name"):
        faults["name"] = ("it needs a short name", "up to 80 characters")
    if faults:
        return None, None, faults
    try:
        return read(Claim, entered), spread, {}
    except RecordError as refusal:
        return None, None, {fault.field: (fault.what, fault.allowed) for fault in refusal.faults}


def _difference(text: str) -> float:
    """The margin of a field in per cent: bare digits are per cent, and those that may be a ratio are asked about."""
    try:
        number, unit = units.read_number(text)
    except UnitError as refusal:
        raise InputError(refusal.what, allowed="a difference in per cent, as in 10") from refusal
    if unit or number >= _NO_RATIO:
        return typed.margin_from_text(text if unit else f"{text} %")
    both = f"{number:g} %", f"{100 * (number - 1 if number > 1 else number):.6g} %"
    raise InputError(f"{text} may be {both[0]} or {both[1]}", allowed=f"{both[0]} or {both[1]}, with its sign")  # fmt: skip


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit() and int(text) >= 1):
        raise InputError(f"{text!r} is no count", allowed="a whole number from 1")
    return int(text)


def point_words(at: float | None, at_unit: str) -> str:
    """The common point as people write it, or "".

    >>> point_words(0.45, "V"), point_words(20.0, "A/m^2")
    ('0.45 V', '2 mA/cm²')
    """
    if at is None:
        return ""
    return f"{at:.3g} V" if at_unit == "V" else f"{0.1 * at:.3g} mA/cm²"  # by definition


def outlook_table(outlook: ClaimOutlook) -> Table:
    """What the builds of a claim can reach, one row for each spread between builds."""

    def many(builds: int | None) -> str:
        return "more than 1000" if builds is None else str(builds)

    rows = zip(outlook.reach, outlook.builds_to_show, outlook.builds_to_equal, strict=True)
    return Table(
        caption="What these builds can reach",
        columns=(
            "spread between builds",
            "smallest ratio that would show",
            "equivalence in reach",
            f"builds a side to show {outlook.margin:.3g} times",
            "builds a side to show equality",
        ),
        rows=tuple(
            (
                f"{100 * row.spread:.0f} % ({row.spread_basis})",
                "–" if row.detectable_ratio is None else f"{row.detectable_ratio:.2f}",
                _equality(outlook.builds, row.equivalence_reachable, equal),
                many(show),
                many(equal),
            )
            for row, show, equal in rows
        ),
        numbers=(1, 3, 4),
        note="Builds are counted so that a true difference of that size, or true equality, comes out four "
        "times in five.",
    )


def _equality(builds: int | None, reachable: bool, needed: int | None) -> str:
    """How often these builds find two equal recipes equivalent, in the words of the table."""
    if needed is not None and (2 if builds is None else builds // 2) >= needed:
        return "four times in five"
    return "now and then" if reachable else "no"
