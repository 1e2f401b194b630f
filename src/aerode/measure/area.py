"""The wetted area with its uncertainty, and what to assume where only a ruler was at hand."""

from __future__ import annotations

from dataclasses import dataclass

from aerode import units
from aerode.errors import RangeError
from aerode.records.marks import Entry

__all__ = ["Area", "area_from_entry", "area_from_text"]

# Relative standard uncertainty of a wetted area by the way it was found. The photo figure is the
# budget of a rectified photo with four markers; the others are common practice, no source.
_BY_WAY = (
    ("photo", 0.012, "a photo"),
    ("caliper", 0.02, "calipers"),
    ("die", 0.03, "the same cutting die"),
    ("punch", 0.03, "the same cutting punch"),
    ("ruler", 0.04, "a ruler"),
)
_RULER = 0.04  # judgement
_PRINT_SCALE = 0.003  # judgement
"""A marker sheet printed a little too large is wrong alike for every photo taken with it."""


@dataclass(frozen=True, slots=True)
class Area:
    """A wetted area.

    Parameters
    ----------
    value : float [m^2]
    relative_uncertainty : float [1]
        Relative standard uncertainty, the shared part included.
    shared_relative_uncertainty : float [1]
        The part of it that is common to all areas found in the same way (the print's scale).
    how : str
        The way it was found.
    assumed : str
        A sentence for the person where the uncertainty was not given; "" otherwise.
    """

    value: float
    relative_uncertainty: float
    shared_relative_uncertainty: float = 0.0
    how: str = ""
    assumed: str = ""

    @property
    def standard_uncertainty(self) -> float:
        """[m^2]"""
        return self.value * self.relative_uncertainty


def area_from_entry(entry: Entry) -> Area:
    """The wetted area of an electrode's record.

    Parameters
    ----------
    entry : Entry
        Area [m^2]; without an uncertainty, `how` decides which is assumed.

    Returns
    -------
    Area

    Raises
    ------
    RangeError
        If it is not above zero, or larger than a square metre.

    Examples
    --------
    >>> area = area_from_entry(Entry(value=9.54e-4, standard_uncertainty=1.1e-5, how="photo"))
    >>> round(area.relative_uncertainty, 4), area.assumed
    (0.0115, '')
    """
    if not 0.0 < entry.value < 1.0:
        raise RangeError(
            f"a wetted area of {units.write(entry.value, 'm^2', to='cm^2')} is not believable",
            where="wetted area",
            allowed="more than 0 and less than 10000 cm^2",
            next_step="look at the unit: square centimetres are usual",
        )
    way = entry.how.casefold()
    shared = _PRINT_SCALE if "photo" in way else 0.0
    if entry.standard_uncertainty is not None:
        relative = entry.standard_uncertainty / entry.value
        return Area(entry.value, relative, min(shared, relative), entry.how)
    usual, words = next(((u, w) for key, u, w in _BY_WAY if key in way), (_RULER, "a ruler"))
    said = f"area: no uncertainty given, {100 * usual:g} % assumed as for {words}"
    return Area(entry.value, usual, shared, entry.how, said)


def area_from_text(text: str) -> Area:
    """A typed wetted area: "4 cm^2", "9.54 cm^2 +- 1.2 %".

    Parameters
    ----------
    text : str
        With its unit.

    Returns
    -------
    Area
        Without ± the uncertainty of a ruler is assumed, and `assumed` says so.

    Raises
    ------
    UnitError
        If it cannot be read as an area, or has no unit.
    RangeError
        If it is not believable.

    Examples
    --------
    >>> area = area_from_text("4 cm^2")
    >>> area.value, area.assumed
    (0.0004, 'area: no uncertainty given, 4 % assumed as for a ruler')
    """
    typed = units.read(text, "cm^2", field="area")
    spread = typed.standard_uncertainty
    entry = Entry(
        value=typed.value * 1e-4,
        standard_uncertainty=None if spread is None else spread * 1e-4,
        text=text,
    )
    return area_from_entry(entry)
