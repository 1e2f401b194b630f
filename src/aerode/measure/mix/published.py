"""Published densities for what nobody measured, each with its source and how far it is trusted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import reference, units
from aerode.errors import ReferenceDataError
from aerode.quantities import Basis, Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["densities_on_file", "density_on_file"]


def density_on_file(substance: str) -> Quantity | None:
    """The published density of a substance near room temperature, or None if none is on file.

    Parameters
    ----------
    substance : str
        Name, alias or CAS number; a metal is looked for as its mesh too.

    Returns
    -------
    Quantity, optional
        Density [kg/m³]. A range gives its middle with a rectangular uncertainty. The source is
        marked where the figure is from memory or second hand.

    Examples
    --------
    >>> found = density_on_file("PVB")
    >>> found is not None and found.value
    1083.0
    >>> density_on_file("moon dust") is None
    True
    """
    for name in (substance, f"{substance} mesh"):
        try:
            rows = reference.select(name, "density")
        except ReferenceDataError:
            continue
        for row in rows:
            if row.centre is not None:
                return _quantity(row)
    return None


def _quantity(row: reference.PublishedRow) -> Quantity:
    factor, _ = units.scale(row.unit, "kg/m^3")
    spread = row.standard_uncertainty()
    centre = row.centre or 0.0
    source = reference.source(row.source)
    trust = "" if row.status is reference.Status.VERIFIED else f", {row.status.value}"
    return Quantity(
        value=round(centre * factor, 9),
        unit="kg/m^3",
        standard_uncertainty=None if spread is None else spread * factor,
        basis=Basis.PUBLISHED,
        source=f"{source.key}{trust}",
    )


def densities_on_file(substances: Iterable[str]) -> dict[str, Quantity]:
    """The published densities of several substances; those not on file are left out.

    Parameters
    ----------
    substances : iterable of str
        Names, aliases or CAS numbers.

    Returns
    -------
    dict
        Density by the name asked for [kg/m³].
    """
    found = {name: density_on_file(name) for name in set(substances) if name}
    return {name: density for name, density in found.items() if density is not None}
