"""The answers of `property`: a figure with all that stands behind it, and lists of what can be asked."""

from __future__ import annotations

from dataclasses import field

from aerode.quantities import Basis
from aerode.records.marks import NotNegative, record

__all__ = [
    "HoldsFor",
    "KnownSubstance",
    "MaterialUse",
    "OtherFigure",
    "PropertyList",
    "PropertySheet",
    "PropertyUses",
    "WettedBy",
]


@record
class HoldsFor:
    """The span of one variable in which a figure holds; SI. `asked` is where it was asked for."""

    variable: str
    low: float
    high: float
    unit: str = ""
    asked: float | None = None
    holds: bool | None = None


@record
class OtherFigure:
    """What another source, or the same one under another condition, says."""

    value: float | None
    unit: str
    source: str
    condition: str = ""
    status: str = ""
    shown: str = ""


@record
class PropertySheet:
    """One property of one substance in one state. `value` is in SI, never clipped to the range.

    Where there is no number, `reason` says why. `interval` is the range that a source gives, or
    what is believable, where that says more than the standard uncertainty.
    """

    schema: str = "aerode.property/1"
    headline: str
    quantity: str
    means: str = ""
    substance: str
    state: dict[str, float] = field(default_factory=dict[str, float])
    """What was said of the state, SI: temperature, mass_fraction, pressure ..."""
    value: float | None
    unit: str
    standard_uncertainty: NotNegative | None = None
    interval: tuple[float, float] | None = None
    reason: str | None = None
    coefficients: dict[str, float] = field(default_factory=dict[str, float])
    """Where the figure is a set of numbers, in the unit given."""
    source: str
    """Key of the bibliography."""
    source_text: str = ""
    place: str = ""
    condition: str = ""
    range: tuple[HoldsFor, ...] = ()
    status: str
    """ "verified", "secondary" or "unverified": how far the figure was checked against its source."""
    basis: Basis = Basis.PUBLISHED
    warnings: tuple[str, ...] = ()
    note: str = ""
    others: tuple[OtherFigure, ...] = ()
    understood: tuple[str, ...] = ()


@record
class KnownSubstance:
    """One substance on file and what can be asked of it."""

    name: str
    kind: str
    also: tuple[str, ...] = ()
    cas: tuple[str, ...] = ()
    quantities: tuple[str, ...] = ()


@record
class PropertyList:
    """What can be asked: quantities with their meaning, substances with their quantities."""

    schema: str = "aerode.property-list/1"
    headline: str
    quantities: dict[str, str]
    """Word → meaning."""
    substances: tuple[KnownSubstance, ...]
    functions: tuple[str, ...] = ()


@record
class WettedBy:
    """What an electrolyte does to a metal that it wets."""

    electrolyte: str
    unloaded: str
    loaded: str
    effect: str
    source: str
    status: str


@record
class MaterialUse:
    """One material in one bench function."""

    material: str
    function: str
    serves: str
    home_test: str
    mistaken_for: str
    must_not_replace: str
    source: str
    status: str
    wetted: tuple[WettedBy, ...] = ()


@record
class PropertyUses:
    """What serves for a bench function, or what a material serves for."""

    schema: str = "aerode.property-uses/1"
    headline: str
    uses: tuple[MaterialUse, ...]
