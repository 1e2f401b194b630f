"""The data sheets of the lots on the shelf, as the figures that the rules look at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.cautions.situation import Polymer, SheetFigures

if TYPE_CHECKING:
    from aerode.records.marks import Entry
    from aerode.records.materials import DataSheet, PowderLot, Solution, SolventLot

__all__ = ["figures_of_sheet", "polymer_of_lot", "sheet_said", "sheets_of_solution"]


def sheet_said(lot: str, sheet: DataSheet) -> str:
    """The sheet as a source for people: the lot, the title and the date.

    >>> from aerode.records.materials import DataSheet
    >>> sheet_said("thinner", DataSheet(title="Maker Z", date="2024-03"))
    'safety data sheet of thinner: Maker Z, 2024-03'
    >>> sheet_said("thinner", DataSheet())
    'safety data sheet of thinner: not named, not dated'
    """
    return f"safety data sheet of {lot}: {sheet.title or 'not named'}, {sheet.date or 'not dated'}"


def _value(entry: Entry | None) -> float | None:
    return None if entry is None else entry.value


def figures_of_sheet(lot: str, substance: str, sheet: DataSheet | None) -> tuple[SheetFigures, ...]:
    """What a sheet says of one substance; empty where there is no sheet.

    Parameters
    ----------
    lot : str
        Name on the label.
    substance : str
        What it is; the name on the label where that is not known.
    sheet : DataSheet or None
        The sheet.

    Returns
    -------
    tuple of SheetFigures
    """
    if sheet is None:
        return ()
    return (
        SheetFigures(
            of=substance or lot,
            said=sheet_said(lot, sheet),
            named=bool(sheet.title.strip() and sheet.date.strip()),
            flash=_value(sheet.flash_point),
            autoignition=_value(sheet.autoignition_temperature),
            lower=_value(sheet.lower_flammable_limit),
            day=_value(sheet.day_limit),
            day_by_volume=_value(sheet.day_limit_by_volume),
            quarter_hour=_value(sheet.short_limit),
            quarter_hour_by_volume=_value(sheet.short_limit_by_volume),
        ),
    )


def sheets_of_solution(lot: Solution, unnamed: str) -> tuple[SheetFigures, ...]:
    """The sheet of a solution, for each of its liquids: whichever of them the maker meant.

    `unnamed` is what the rest of its liquid is called where nobody named all of it.
    """
    if lot.data_sheet is None:
        return ()
    return tuple(
        one
        for of in (*(part.of for part in lot.liquid), unnamed)
        for one in figures_of_sheet(lot.name, of, lot.data_sheet)
    )


def polymer_of_lot(
    name: str, substance: str, lot: PowderLot | Solution | SolventLot | None
) -> Polymer:
    """A polymer with the heat limit of the data sheet of its lot."""
    sheet = lot.data_sheet if lot is not None else None
    limit = _value(sheet.heat_limit) if sheet is not None else None
    said = f"{sheet.title}, {sheet.date}".strip(", ") if sheet is not None else ""
    return Polymer(
        name=name, substance=substance, sheet_limit=limit, sheet=said if limit is not None else ""
    )
