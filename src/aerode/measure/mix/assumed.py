"""What is taken where nobody measured: bands with what each rests on. Every use is said aloud."""

from __future__ import annotations

import math

from aerode.quantities import Basis, Quantity
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

_OIL = 935.0  # [kg/m³], linseed oil; common practice
# Activated carbons hold 5 to 25 % of water (from memory, unverified); the rest: common practice.
_MOISTURE = {Function.ACTIVE_CARBON: (0.05, 0.25)}  # from memory
_MOISTURE_OF_OTHERS = (0.0, 0.02)  # common practice
# Grams of linseed oil per gram. Lampblack 0.51, medium carbon black 1.24, red iron oxide 0.20: a
# table of a paint chemist, sorwarchem.blogspot.com, April 2022, read. The rest from memory.
_OIL_BANDS = {  # from memory
    Function.CONDUCTOR: (0.50, 1.30),
    Function.ACTIVE_CARBON: (0.60, 1.60),
    Function.CATALYST: (0.15, 0.40),
}
_OIL_OF_OTHERS = (0.15, 0.60)  # from memory
# Ester plasticisers of plastics, 920 to 1120 kg/m³ (from memory, unverified).
_PLASTICISER = (920.0, 1120.0)  # from memory


def _band(low: float, high: float, unit: str, source: str) -> Quantity:
    return Quantity(
        # rectangular width, by definition
        value=0.5 * (low + high), unit=unit, standard_uncertainty=(high - low) / math.sqrt(12.0),
        basis=Basis.ASSUMED, source=source,
    )  # fmt: skip


def moisture_band(function: Function) -> tuple[Quantity, str]:
    """Water in a powder as received, by what the powder does, and the sentence that says so [1]."""
    low, high = _MOISTURE.get(function, _MOISTURE_OF_OTHERS)
    said = (
        f"moisture not measured, {100 * low:g} to {100 * high:g} % assumed; "
        "weigh some before and after the oven"
    )
    return _band(low, high, "", "class of powder"), said


def oil_absorption_band(function: Function) -> tuple[Quantity, str]:
    """Oil absorption by what the powder does, and the sentence that says so [m³/kg]."""
    low, high = _OIL_BANDS.get(function, _OIL_OF_OTHERS)
    said = f"oil absorption not measured, {100 * low:g} to {100 * high:g} g in 100 g assumed"
    return _band(low / _OIL, high / _OIL, "m^3/kg", "class of powder"), said


def plasticiser_density_band() -> tuple[Quantity, str]:
    """Density of a plasticiser of unknown make, and the sentence that says so [kg/m³]."""
    low, high = _PLASTICISER
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
