"""Between which plate temperatures a layer can be pressed: above softening, below every line on file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import reference
from aerode.cautions import lookup
from aerode.errors import ReferenceDataError, UnitError
from aerode.physics import pressing
from aerode.physics.heat_gates import surface_ceiling
from aerode.physics.water import ZERO_CELSIUS
from aerode.records.processes import PolymerWindow
from aerode.reference import PublishedRow, Status, figure_end, hazard_rule, heat_gates
from aerode.usecases.process import is_published

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.usecases.process import Desk

__all__ = ["common_window", "sheet_limit", "window_of"]

_NO_LINE = "polymer or wax without a figure on file"
_ROOM = 298.15


def _kelvin(row: PublishedRow, *, lowest: bool) -> float:
    return figure_end(row, lowest=lowest) + ZERO_CELSIUS


def _softens(name: str) -> PublishedRow | None:
    """The row of softening that asks for the hottest plate: its glass transition or melting above room."""
    rows = [
        row for row in heat_gates(name).softening
        if row.condition.startswith(("glass transition", "melting", "softening"))
        and not row.condition.startswith("softening range")
        and _kelvin(row, lowest=False) > _ROOM
    ]  # fmt: skip
    return max(rows, key=lambda row: _kelvin(row, lowest=False), default=None)


def _line(name: str) -> tuple[PublishedRow | None, PublishedRow | None]:
    """The lowest published line of a polymer, and the lowest that is only from memory."""
    gates = heat_gates(name)
    rows = [r for r in (gates.warn, gates.stop, *gates.off_gas) if r is not None]

    def lowest(kept: list[PublishedRow]) -> PublishedRow | None:
        return min(kept, key=lambda row: _kelvin(row, lowest=True), default=None)

    return lowest([r for r in rows if is_published(r)]), lowest(
        [r for r in rows if not is_published(r)]
    )


def sheet_limit(name: str, texts: Sequence[str], desk: Desk) -> tuple[float, str] | None:
    """The heat limit [K] of a data sheet for one polymer, and the sheet; None where none was typed.

    Parameters
    ----------
    name : str
        The polymer as it is on file.
    texts : sequence of str
        As typed, "PVB=150 degC, maker 2024".
    desk : Desk
        Where typed texts are read.

    Returns
    -------
    tuple or None

    Raises
    ------
    UnitError
        A text that holds no limit.
    """
    for text in texts:
        of, mark, rest = text.partition("=")
        limit, _, sheet = rest.partition(",")
        if not mark or not limit.strip():
            raise UnitError(
                f"{text!r} is no heat limit", where="sheet",
                allowed='a name, a temperature and the sheet, as in "PVB=150 degC, maker 2024"',
            )  # fmt: skip
        if reference.resolve(of) == name:
            value = desk.with_unit(limit.strip(), "K", f"sheet of {name}", "PVB=150 degC")
            if value is None:
                raise UnitError(f"{text!r} holds no temperature", where="sheet")
            return value, f"data sheet: {sheet.strip() or 'not named'}"
    return None


def window_of(polymer: str, sheets: Sequence[str], desk: Desk) -> PolymerWindow:
    """Softening and the line not to pass, for one polymer or wax.

    Parameters
    ----------
    polymer : str
        Name, alias or CAS number.
    sheets : sequence of str
        Heat limits of data sheets, as typed.
    desk : Desk
        Where typed texts are read.

    Returns
    -------
    PolymerWindow
        Where nothing is published, the house rule stands as its line, and says so.

    Raises
    ------
    ReferenceDataError
        A polymer that is not on file.
    """
    try:
        name = reference.resolve(polymer)
    except ReferenceDataError as unknown:
        raise ReferenceDataError(
            f"{polymer!r} is not on file: no heat", where="polymer",
            allowed="a polymer or wax on file: aerode property --for binder",
            next_step="scrap of unknown kind may be PVC or brominated: press it cold, or find its name",
        ) from unknown  # fmt: skip
    soft, sheet = _softens(name), sheet_limit(name, sheets, desk)
    published, memory = _line(name)
    softens = None if soft is None else _kelvin(soft, lowest=False)
    line, source, note = _upper(published, memory, sheet)
    marks = [r for r in (soft, published) if r is not None]
    worst = max((r.preference for r in marks), default=2) if published or sheet else 2
    return PolymerWindow(
        polymer=name,
        softens=softens,
        line=line,
        softens_source=soft.source if soft else "",
        line_source=source,
        status=list(Status)[worst].value,
        note="; ".join(n for n in (soft.condition if soft else "softening not on file", note) if n),
    )


def _upper(
    published: PublishedRow | None, memory: PublishedRow | None, sheet: tuple[float, str] | None
) -> tuple[float, str, str]:
    """The upper line [K], where it comes from, and what is to be said about it."""
    if published is not None:
        line = _kelvin(published, lowest=True)
        if sheet is not None and sheet[0] < line:
            return sheet[0], sheet[1], "the data sheet is stricter than the published line"
        return line, published.source, published.condition.removeprefix("gas=")
    if sheet is not None:
        return sheet[0], sheet[1], "data sheet entered by hand"
    house = hazard_rule("heat_stop_temperature", _NO_LINE)
    line = _kelvin(house, lowest=True)
    if memory is not None and _kelvin(memory, lowest=True) < line:
        return _kelvin(memory, lowest=True), memory.source, "from memory only"
    return line, house.source, "no published line: house rule until a data sheet is entered"


def common_window(
    window: Sequence[PolymerWindow], solvents: Sequence[str]
) -> tuple[float | None, float | None]:
    """Lowest and highest plate temperature for all of them together [K]; None where one is not known.

    Parameters
    ----------
    window : sequence of PolymerWindow
        Of each polymer or wax.
    solvents : sequence of str
        What the coat was wet with last: their vapour has a ceiling of its own.

    Returns
    -------
    tuple of float or None
    """
    if not window:
        return None, None
    found = pressing.heat_window([w.softens for w in window], [w.line for w in window])
    ceilings = [t for name in solvents if (t := _ceiling(name)) is not None]
    return found.low, min([t for t in (found.high, *ceilings) if t is not None], default=None)


def _ceiling(solvent: str) -> float | None:
    """The plate temperature that a last solvent allows [K]; None for water or no figure on file."""
    name = lookup.known_name(solvent)
    if name is None or name == "water":
        return None
    lights = lookup.fire(name).autoignition
    share = lookup.rule("autoignition_surface_share", "explosive atmosphere")
    margin = lookup.rule("heat_margin", "heated dip liquid below the autoignition temperature")
    if lights is None or share is None:
        return None
    return surface_ceiling(
        lights.value, share=share.value, margin=margin.value if margin else None
    )[0]
