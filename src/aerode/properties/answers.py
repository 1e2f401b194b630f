"""What a look-up answers: the quantity, where it holds, how far it can be trusted, what to mind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.quantities import Basis, Quantity, Reason
from aerode.reference import KNOWN_UNITS, PublishedRow, Status, UncertaintyKind, ValidRange

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = [
    "PropertyAnswer",
    "answer_from_row",
    "computed_answer",
    "missing",
    "range_warnings",
    "si_range",
    "si_uncertainty",
    "si_unit",
    "si_value",
    "worst_status",
]

_WORSE = {Status.VERIFIED: 0, Status.SECONDARY: 1, Status.UNVERIFIED: 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class PropertyAnswer:
    """A property with all that stands behind it.

    `quantity` is in SI with its standard uncertainty and source key, or says why there is none.
    `valid_range` is where the figure holds, in SI; outside it the value is still given, never
    clipped, and `warnings` says so. `status` is that of the weakest figure used.
    """

    quantity: Quantity
    valid_range: tuple[ValidRange, ...]
    status: Status
    warnings: tuple[str, ...]
    place: str = ""
    condition: str = ""
    note: str = ""

    @property
    def value(self) -> float:
        """The number in SI, for arithmetic; refused where there is none.

        Raises
        ------
        CannotTellError
            There is no number; the reason is named.
        """
        if self.quantity.value is None:
            from aerode.errors import CannotTellError

            raise CannotTellError(
                f"no number: {self.quantity.reason}",
                allowed="a property that is on file",
                next_step="enter the figure of a data sheet",
            )
        return self.quantity.value


def si_unit(unit: str) -> str:
    """The SI unit of a table unit, "" for a plain number; an odd unit stays as it is.

    >>> si_unit("mS/cm"), si_unit("%"), si_unit("mppcf")
    ('S/m', '', 'mppcf')
    """
    found = KNOWN_UNITS[unit]
    return "" if found == "1" else found


def _plain(unit: str) -> str:
    return "" if unit == "1" else unit


def si_value(value: float, unit: str) -> float:
    """A table value in SI.

    >>> si_value(25.0, "degC"), si_value(50.0, "%")
    (298.15, 0.5)
    """
    return units.convert(value, _plain(unit), si_unit(unit)) if unit != "mppcf" else value


def si_uncertainty(spread: float | None, unit: str) -> float | None:
    """A standard uncertainty of a table value in SI, offsets left out.

    >>> si_uncertainty(0.05, "degC"), si_uncertainty(None, "K")
    (0.05, None)
    """
    if spread is None or unit == "mppcf":
        return spread
    return abs(units.scale(_plain(unit), si_unit(unit))[0]) * spread


def si_range(row: PublishedRow) -> tuple[ValidRange, ...]:
    """The valid range of a row in SI.

    >>> from aerode.reference import published
    >>> [str(x) for x in si_range(published("potassium hydroxide", "conductivity"))]
    ['temperature 273.15 to 373.15 K', 'molarity 0 to 12000 mol/m^3']
    """
    return tuple(
        ValidRange(
            span.variable,
            si_value(span.low, span.unit),
            si_value(span.high, span.unit),
            si_unit(span.unit) or "1",
        )
        for span in row.valid_range
    )


def range_warnings(spans: Sequence[ValidRange], state: Mapping[str, float]) -> tuple[str, ...]:
    """One sentence for each variable of the state that lies outside its range.

    >>> range_warnings([ValidRange("temperature", 273.15, 313.15, "K")], {"temperature": 323.15})
    ('temperature 323.15 K lies outside 273.15 to 313.15 K, where the figure holds',)
    """
    said: list[str] = []
    for span in spans:
        value = state.get(span.variable)
        if value is not None and not span.holds(value):
            unit = "" if span.unit == "1" else f" {span.unit}"
            said.append(
                f"{span.variable.replace('_', ' ')} {value:g}{unit} lies outside "
                f"{span.low:g} to {span.high:g}{unit}, where the figure holds"
            )
    return tuple(said)


def worst_status(rows: Sequence[PublishedRow]) -> Status:
    """The status of the weakest row used.

    >>> worst_status([]).value
    'unverified'
    """
    return max((row.status for row in rows), key=_WORSE.__getitem__, default=Status.UNVERIFIED)


def _status_warnings(status: Status) -> tuple[str, ...]:
    if status is Status.UNVERIFIED:
        return ("from memory or common practice, not found in a published source",)
    if status is Status.SECONDARY:
        return ("read on a secondary page only",)
    return ()


def _spread(row: PublishedRow, value: float) -> float | None:
    """The standard uncertainty of an equation at a value, both in SI."""
    if row.uncertainty_kind in (UncertaintyKind.STANDARD, UncertaintyKind.LIMIT):
        return si_uncertainty(row.standard_uncertainty(), row.unit)
    return row.standard_uncertainty(value)


def computed_answer(
    value: float,
    unit: str,
    rows: Sequence[PublishedRow],
    state: Mapping[str, float],
    *,
    standard_uncertainty: float | None = None,
    interval: tuple[float, float] | None = None,
    warnings: Sequence[str] = (),
    valid_range: tuple[ValidRange, ...] | None = None,
) -> PropertyAnswer:
    """An answer computed from equation rows; the first row gives source, place and uncertainty."""
    lead = rows[0]
    spans = si_range(lead) if valid_range is None else valid_range
    spread = standard_uncertainty
    if spread is None:
        spread = _spread(lead, value)
    status = worst_status(rows)
    return PropertyAnswer(
        quantity=Quantity(
            value=value,
            unit=unit,
            standard_uncertainty=spread,
            interval_95=interval,
            basis=Basis.PUBLISHED,
            source=lead.source,
        ),
        valid_range=spans,
        status=status,
        warnings=(*range_warnings(spans, state), *warnings, *_status_warnings(status)),
        place=lead.place,
        condition=lead.condition,
        note=lead.note,
    )


def answer_from_row(
    row: PublishedRow, state: Mapping[str, float], warnings: Sequence[str] = ()
) -> PropertyAnswer:
    """The figure of one row as an answer in SI.

    Parameters
    ----------
    row : PublishedRow
        A row with a value, a range, a bound or an absent figure.
    state : mapping of str to float [SI]
        What is known of the state, for the range check.
    warnings : sequence of str
        More to mind.

    Returns
    -------
    PropertyAnswer
        A range gives its middle with (high - low)/sqrt(12) and the range itself; a bound alone
        gives no number but says the bound in the reason.

    Examples
    --------
    >>> from aerode.reference import published
    >>> answer_from_row(published("toluene", "flash_point"), {}).quantity.value
    277.15
    """
    unit = si_unit(row.unit)
    centre = row.centre
    spans = si_range(row)
    interval: tuple[float, float] | None = None
    if row.low is not None and row.high is not None:
        interval = (si_value(row.low, row.unit), si_value(row.high, row.unit))
    if centre is None:
        quantity = Quantity(
            value=None,
            unit=unit,
            basis=Basis.PUBLISHED,
            source=row.source,
            reason=f"the source gives {row.shown}" + (f" ({row.note})" if row.note else ""),
        )
    else:
        quantity = Quantity(
            value=si_value(centre, row.unit),
            unit=unit,
            standard_uncertainty=si_uncertainty(row.standard_uncertainty(), row.unit),
            interval_95=interval,
            basis=Basis.PUBLISHED,
            source=row.source,
        )
    return PropertyAnswer(
        quantity=quantity,
        valid_range=spans,
        status=row.status,
        warnings=(*range_warnings(spans, state), *warnings, *_status_warnings(row.status)),
        place=row.place,
        condition=row.condition,
        note=row.note,
    )


def missing(unit: str, reason: Reason | str = Reason.NO_SOURCE) -> PropertyAnswer:
    """No figure on file, and why.

    >>> missing("K").quantity.value is None
    True
    """
    return PropertyAnswer(
        quantity=Quantity.missing(unit, reason, basis=Basis.PUBLISHED),
        valid_range=(),
        status=Status.UNVERIFIED,
        warnings=("no figure on file is never zero and never a pass",),
    )
