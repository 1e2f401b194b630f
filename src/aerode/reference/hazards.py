"""Hazard figures as typed rows: exposure limits, fire figures, heat gates, remarks.

Nothing here decides; `aerode.cautions` does. A limit is kept in the unit of the body that set it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from aerode.errors import ReferenceDataError
from aerode.reference.figures import select, source
from aerode.reference.loader import load_table
from aerode.reference.rows import PublishedRow, Status
from aerode.reference.substances import resolve

__all__ = [
    "ExposureLimit",
    "FireFigures",
    "HeatGates",
    "exposure_limits",
    "figure_end",
    "fire_figures",
    "hazard_remarks",
    "hazard_rule",
    "heat_gates",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class ExposureLimit:
    """One limit of one body for one substance.

    `value` is in `unit`, the unit of the source: "ppm" (by volume), "mg/m^3" or "mppcf"; it is
    None where the body sets none, and `note` says so. `kind` is TWA, STEL, ceiling, peak or IDLH.
    """

    substance: str
    body: str
    kind: str
    averaging: str
    value: float | None
    unit: str
    skin: bool
    edition: str
    status: Status
    source: str
    note: str
    row: PublishedRow


def _edition(year: str, place: str) -> str:
    """The year and the place of a limit; a place that names a year stands for itself.

    >>> _edition("", "manganese, 2013"), _edition("", "toluene"), _edition("2021", "2021")
    ('manganese, 2013', 'date not seen, toluene', '2021')
    """
    if not year and re.search(r"\b(19|20)\d\d\b", place):
        return place
    said = year or "date not seen"
    return said if place in ("", year) else f"{said}, {place}"


def _limit(row: PublishedRow) -> ExposureLimit:
    said = row.conditions
    return ExposureLimit(
        substance=row.substance,
        body=said["body"],
        kind=said["kind"],
        averaging=said["averaging"],
        value=row.value,
        unit=row.unit,
        skin="skin" in said,
        edition=_edition(source(row.source).year, row.place),
        status=row.status,
        source=row.source,
        note=row.note,
        row=row,
    )


def exposure_limits(substance: str, *, kind: str = "", body: str = "") -> tuple[ExposureLimit, ...]:
    """The limits on file for a substance, verified first; empty means "no limit on file".

    Parameters
    ----------
    substance : str
        Name, alias or CAS number.
    kind : str
        Only TWA, STEL, ceiling, peak or IDLH.
    body : str
        Only this body, as in "OSHA PEL".

    Returns
    -------
    tuple of ExposureLimit
        A limit with `value` None says that the body sets none. No limit on file is never zero
        and never a pass.

    Raises
    ------
    ReferenceDataError
        The substance is not known.

    Examples
    --------
    >>> [(x.body, x.value) for x in exposure_limits("toluene", kind="IDLH")]
    [('NIOSH', 500.0)]
    """
    rows = select(substance, "exposure_limit")
    found = tuple(_limit(row) for row in rows)
    return tuple(x for x in found if kind in ("", x.kind) and body in ("", x.body))


@dataclass(frozen=True, slots=True, kw_only=True)
class FireFigures:
    """The cautious end of the fire figures of a substance, each with the row it came from.

    Lower flammable limit: the lowest on file [per cent by volume]; upper: the highest; flash
    point and autoignition temperature: the lowest [degC]. None where nothing is on file.
    """

    substance: str
    lower_flammable_limit: PublishedRow | None
    upper_flammable_limit: PublishedRow | None
    flash_point: PublishedRow | None
    autoignition_temperature: PublishedRow | None
    vapour_relative_density: PublishedRow | None
    rows: tuple[PublishedRow, ...]


def _end(rows: tuple[PublishedRow, ...], quantity: str, *, lowest: bool) -> PublishedRow | None:
    """The cautious row of a quantity; verified rows are asked before the others."""
    found = [row for row in rows if row.quantity == quantity]
    if not found:
        return None
    best = min(row.preference for row in found)
    kept = [row for row in found if row.preference == best]
    pick = min if lowest else max
    return pick(kept, key=lambda row: figure_end(row, lowest=lowest))


def figure_end(row: PublishedRow, *, lowest: bool) -> float:
    """The lower or the upper end of a row that may be a value or a range [unit of the row].

    >>> from aerode.reference.figures import published
    >>> figure_end(published("872-50-4", "autoignition_temperature"), lowest=True)
    245.0
    """
    ends = [x for x in (row.low, row.value, row.high) if x is not None]
    if not ends:
        raise ReferenceDataError(
            "this row carries no number", where=row.where, allowed="a value or a range",
            next_step="ask for another row",
        )  # fmt: skip
    return min(ends) if lowest else max(ends)


def fire_figures(substance: str) -> FireFigures:
    """The fire figures of a substance: the cautious end of each, and all rows.

    Parameters
    ----------
    substance : str
        Name, alias or CAS number.

    Returns
    -------
    FireFigures
        Rows keep compilations (NFPA, IEC) apart in `rows`; use `figure_end` on the rows picked.

    Raises
    ------
    ReferenceDataError
        The substance is not known.

    Examples
    --------
    >>> found = fire_figures("toluene")
    >>> found.lower_flammable_limit.value, found.autoignition_temperature.value
    (1.0, 480.0)
    """
    name = resolve(substance)
    rows = tuple(row for row in load_table("fire") if row.substance == name)
    return FireFigures(
        substance=name,
        lower_flammable_limit=_end(rows, "lower_flammable_limit", lowest=True),
        upper_flammable_limit=_end(rows, "upper_flammable_limit", lowest=False),
        flash_point=_end(rows, "flash_point", lowest=True),
        autoignition_temperature=_end(rows, "autoignition_temperature", lowest=True),
        vapour_relative_density=_end(rows, "vapour_relative_density", lowest=False),
        rows=rows,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatGates:
    """Where a polymer or wax softens, gives off gas, and where the program warns and stops [degC].

    A gate that is None means: no figure on file, which is never a pass.
    """

    substance: str
    softening: tuple[PublishedRow, ...]
    off_gas: tuple[PublishedRow, ...]
    warn: PublishedRow | None
    stop: PublishedRow | None


def heat_gates(substance: str) -> HeatGates:
    """The heat rows of a polymer or wax, off-gas rows from the coolest to the hottest.

    Parameters
    ----------
    substance : str
        Name, alias or CAS number.

    Returns
    -------
    HeatGates
        `stop` None: use `hazard_rule("heat_stop_temperature", "polymer or wax without a figure
        on file")`.

    Raises
    ------
    ReferenceDataError
        The substance is not known.

    Examples
    --------
    >>> heat_gates("PTFE").stop.value
    330.0
    """
    name = resolve(substance)
    rows = tuple(row for row in load_table("heat_gates") if row.substance == name)

    def of(quantity: str) -> tuple[PublishedRow, ...]:
        found = [row for row in rows if row.quantity == quantity]
        return tuple(sorted(found, key=lambda row: figure_end(row, lowest=True)))

    warn, stop = of("heat_warn_temperature"), of("heat_stop_temperature")
    return HeatGates(
        substance=name,
        softening=of("softening_temperature"),
        off_gas=of("off_gas_temperature"),
        warn=warn[0] if warn else None,
        stop=stop[0] if stop else None,
    )


def hazard_remarks(substance: str) -> tuple[PublishedRow, ...]:
    """What reacts with this, and what harms how: rows without a number; read `note`.

    >>> [row.condition for row in hazard_remarks("limonene")]
    ['health: sensitiser', 'self-heating']
    """
    name = resolve(substance)
    return tuple(row for row in load_table("hazard_remarks") if row.substance == name)


def hazard_rule(quantity: str, condition: str) -> PublishedRow:
    """One figure the cautions rest on, by quantity and condition.

    Parameters
    ----------
    quantity : str
        As in "ventilation_figure".
    condition : str
        The condition as it stands in the table `hazard_rules` or `fire`.

    Returns
    -------
    PublishedRow
        The row.

    Raises
    ------
    ReferenceDataError
        No such row; the conditions on file for that quantity are listed.

    Examples
    --------
    >>> hazard_rule("ventilation_figure", "safety factor").value
    5.0
    """
    rows = [r for r in (*load_table("hazard_rules"), *load_table("fire")) if r.quantity == quantity]
    for row in rows:
        if row.condition == condition:
            return row
    raise ReferenceDataError(
        f"no {quantity} on file for {condition!r}",
        allowed="; ".join(row.condition for row in rows) or "another quantity",
        next_step="ask for one of those",
    )
