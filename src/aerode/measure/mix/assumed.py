"""What is taken where nobody measured: bands with what each rests on. Every use is said aloud."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode.quantities import Basis, Quantity
from aerode.reference.process_figures import process_figure, process_rows

if TYPE_CHECKING:
    from aerode.records.materials import Function

__all__ = [
    "LABEL_LIMIT",
    "UNSTATED_LIMIT",
    "VOLUME_LIMIT",
    "moisture_band",
    "oil_absorption_band",
    "plasticiser_density_band",
    "with_some_uncertainty",
]

UNSTATED_LIMIT = 0.05  # common practice
"""Half-width of a rectangular error, as a share, of a value entered without ±. Common practice."""
LABEL_LIMIT = 0.20  # common practice
"""The same for a figure off a label or sheet that describes a class and not this bottle."""
VOLUME_LIMIT = 0.05
"""The same for a volume from a syringe or a measuring spoon. Common practice, no source."""
# judgement
_PUBLISHED_LIMIT = 0.02  # for a published figure that states none: the last digits of handbooks

_OTHERS = "other powder"


def _ends(of: str, quantity: str) -> tuple[float, float]:
    """Both ends of a band on file; the class of other powders stands in where a class has none."""
    named = {row.substance for row in process_rows() if row.quantity == quantity}
    row = process_figure(of if of in named else _OTHERS, quantity)
    return row.low or 0.0, row.high or 0.0


def _band(low: float, high: float, unit: str, source: str) -> Quantity:
    return Quantity(
        # rectangular width, by definition
        value=0.5 * (low + high), unit=unit, standard_uncertainty=(high - low) / math.sqrt(12.0),
        basis=Basis.ASSUMED, source=source,
    )  # fmt: skip


def moisture_band(function: Function) -> tuple[Quantity, str]:
    """Water in a powder as received, by what the powder does, and the sentence that says so [1]."""
    low, high = _ends(function.value, "moisture_as_received")
    said = (
        f"moisture not measured, {100 * low:g} to {100 * high:g} % assumed; "
        "weigh some before and after the oven"
    )
    return _band(low, high, "", "class of powder"), said


def oil_absorption_band(function: Function) -> tuple[Quantity, str]:
    """Oil absorption by what the powder does, and the sentence that says so [m³/kg]."""
    low, high = _ends(function.value, "oil_by_mass")
    oil = process_figure("linseed oil", "oil_density").centre or 0.0
    said = f"oil absorption not measured, {100 * low:g} to {100 * high:g} g in 100 g assumed"
    return _band(low / oil, high / oil, "m^3/kg", "class of powder"), said


def plasticiser_density_band() -> tuple[Quantity, str]:
    """Density of a plasticiser of unknown make, and the sentence that says so [kg/m³]."""
    low, high = _ends("plasticiser", "plasticiser_density")
    said = f"density of the plasticiser not known, {low:g} to {high:g} kg/m^3 assumed"
    return _band(low, high, "kg/m^3", "class of plasticiser"), said


def with_some_uncertainty(quantity: Quantity) -> Quantity:
    """A published figure; where its source states no uncertainty, ±2 % rectangular."""
    if quantity.value is None or quantity.standard_uncertainty is not None:
        return quantity
    return Quantity(
        value=quantity.value, unit=quantity.unit, basis=quantity.basis, source=quantity.source,
        standard_uncertainty=abs(quantity.value) * _PUBLISHED_LIMIT / math.sqrt(3.0),
    )  # fmt: skip
