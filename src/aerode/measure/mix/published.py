"""Published densities for what nobody measured, each with its source and how far it is trusted."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode import properties
from aerode.errors import ReferenceDataError
from aerode.quantities import Basis, Quantity
from aerode.reference import Status

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["densities_on_file", "density_on_file"]

_ROOM = 293.15  # [K]; solids do not care, a solvent moves by 0.1 % a kelvin; judgement


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
    >>> found is not None and found.written()
    '1080 kg/m^3'
    >>> density_on_file("moon dust") is None
    True
    """
    for name in (substance, f"{substance} mesh"):
        for temperature in (None, _ROOM):  # a table's row first, then an equation (water)
            try:
                found = properties.lookup(name, "density", temperature=temperature)
            except ReferenceDataError:
                break
            if found.quantity.value is not None:
                return _with_trust(found)
    return None


def _with_trust(found: properties.PropertyAnswer) -> Quantity:
    trust = "" if found.status is Status.VERIFIED else f", {found.status.value}"
    quantity = found.quantity
    return replace(quantity, basis=Basis.PUBLISHED, source=f"{quantity.source}{trust}")


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
