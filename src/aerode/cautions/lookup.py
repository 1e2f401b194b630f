"""Hazard figures for the rules, in SI, each with its source and status; a missing one is None.

Everything comes from `aerode.reference`. None means "no figure on file" and is never a pass.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from aerode import units
from aerode.errors import AerodeError, ReferenceDataError
from aerode.physics.evaporation_models import vapour_diffusivity
from aerode.physics.vapour_pressure import antoine_pressure
from aerode.reference.figures import select, source
from aerode.reference.hazards import figure_end, fire_figures, hazard_remarks, hazard_rule
from aerode.reference.rows import KNOWN_UNITS, PublishedRow, Status
from aerode.reference.substances import resolve, substance

__all__ = [
    "Figure",
    "Fire",
    "cite",
    "cite_key",
    "diffusivity_in_air",
    "fire",
    "kind_of",
    "known_name",
    "molar_mass",
    "remark",
    "rule",
    "rule_span",
    "vapour_pressure",
]

_ISOMERS = {"xylenes": ("o-xylene", "m-xylene", "p-xylene")}
_RINGS = {
    "toluene": 1, "xylenes": 1, "o-xylene": 1, "m-xylene": 1, "p-xylene": 1, "styrene": 1,
    "1-methyl-2-pyrrolidone": 1,
}  # fmt: skip
# An equation of vapour pressure is drawn on below its range this far, a tenth higher: against other
# equations in the same library it then errs high, down to rooms of -10 degC. Both judgement.
_DRAWN_ON = 30.0  # K; judgement
_DRAWN_ON_RAISED = 1.1  # judgement
# How far from 25 degC a vapour pressure at 25 degC is still used as it is.
_AROUND_25 = 3.0


@dataclass(frozen=True, slots=True)
class Figure:
    """One published number in SI: what is shown to people, where it comes from, how far checked."""

    value: float
    shown: str
    source: str
    status: Status
    note: str = ""

    @property
    def published(self) -> bool:
        """False for a figure from memory or practice; such a one never carries a STOP."""
        return self.status is not Status.UNVERIFIED


def cite_key(key: str, place: str = "") -> str:
    """A source for people, its key in brackets."""
    entry = source(key)
    head = ", ".join(p for p in (entry.authors, entry.title) if p)
    tail = ", ".join(p for p in (entry.year, place) if p)
    return f"{head}{f' ({tail})' if tail else ''} [{key}]"


def cite(row: PublishedRow) -> str:
    """The source of a row for people, its key in brackets, and a mark where it was not checked."""
    mark = "" if row.status is Status.VERIFIED else f", {row.status.value}"
    return cite_key(row.source, row.place) + mark


def known_name(name: str) -> str | None:
    """The name on file, or None where nothing is on file under it."""
    try:
        return resolve(name) if name.strip() else None
    except ReferenceDataError:
        return None


def molar_mass(name: str) -> float | None:
    """Molar mass [kg/mol], None where there is none on file."""
    return None if known_name(name) is None else substance(name).molar_mass


def kind_of(name: str) -> str:
    """What kind of substance it is: "solvent", "polymer", "carbon"."""
    return substance(name).kind


def _si(row: PublishedRow, value: float) -> float:
    """A number of a row in SI."""
    si = KNOWN_UNITS[row.unit]
    return (
        value
        if si == "1" and row.unit == "1"
        else units.convert(value, row.unit, "" if si == "1" else si)
    )


def _figure(row: PublishedRow | None, *, lowest: bool) -> Figure | None:
    if row is None or row.absent:
        return None
    end = figure_end(row, lowest=lowest)
    shown = f"{end:g} {row.unit}".replace("degC", "°C").removesuffix(" 1")
    return Figure(_si(row, end), shown, cite(row), row.status, row.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fire:
    """The cautious fire figures of a liquid; shares [1], temperatures [K]."""

    lower: Figure | None
    upper: Figure | None
    flash: Figure | None
    autoignition: Figure | None


def fire(name: str) -> Fire:
    """The cautious end of each fire figure on file; all None for a name that is not on file."""
    if known_name(name) is None:
        return Fire(lower=None, upper=None, flash=None, autoignition=None)
    found = fire_figures(name)
    return Fire(
        lower=_figure(found.lower_flammable_limit, lowest=True),
        upper=_figure(found.upper_flammable_limit, lowest=False),
        flash=_figure(found.flash_point, lowest=True),
        autoignition=_figure(found.autoignition_temperature, lowest=True),
    )


def remark(name: str, condition: str) -> PublishedRow | None:
    """The remark on a substance whose condition is this, None where there is none."""
    if known_name(name) is None:
        return None
    return next((row for row in hazard_remarks(name) if row.condition == condition), None)


def rule(quantity: str, condition: str) -> Figure | None:
    """One figure of the hazard rules in SI, None where it is not on file."""
    try:
        row = hazard_rule(quantity, condition)
    except ReferenceDataError:
        return None
    return _figure(row, lowest=True)


def rule_span(quantity: str, condition: str) -> tuple[Figure, Figure] | None:
    """Both ends of a figure of the hazard rules in SI, None where it is not on file."""
    try:
        row = hazard_rule(quantity, condition)
    except ReferenceDataError:
        return None
    low, high = _figure(row, lowest=True), _figure(row, lowest=False)
    return None if low is None or high is None else (low, high)


def _antoine(row: PublishedRow, temperature: float) -> float:
    """By the equation of the row, whose condition says whether its logarithm is natural."""
    base = math.e if "natural" in row.condition else 10.0  # decimal logarithm, by definition
    return float(antoine_pressure(temperature, *row.values, base=base))


def _pressure_of_one(name: str, temperature: float) -> Figure | None:
    rows = select(name, "vapour_pressure")
    for row in rows:
        if not (row.coefficients and "Antoine" in row.condition):
            continue
        spans = row.valid_range
        in_range = all(span.holds(temperature) for span in spans)
        near = all(span.low - _DRAWN_ON <= temperature <= span.high for span in spans)
        if in_range or near:
            raised = 1.0 if in_range else _DRAWN_ON_RAISED
            value = raised * _si(row, _antoine(row, temperature))
            return Figure(value, f"{value / 1e3:.3g} kPa", cite(row), row.status)
    if temperature > 298.15 + _AROUND_25:  # the figures are stated at 25 degC: judgement
        return None
    for row in rows:
        if row.condition.startswith("temperature=25 degC") and not row.coefficients:
            return _figure(row, lowest=False)
    return None


def vapour_pressure(name: str, temperature: float) -> Figure | None:
    """The vapour pressure [Pa], the highest isomer for mixed xylenes; None where none is on file.

    Up to 30 K below its range the equation is drawn on, a tenth higher; colder still the value at
    25 degC stands in. Both err high.
    """
    if known_name(name) is None:
        return None
    found = [_pressure_of_one(one, temperature) for one in _ISOMERS.get(name, (name,))]
    kept = [figure for figure in found if figure is not None]
    return max(kept, key=lambda figure: figure.value) if len(kept) == len(found) else None


def _atoms(formula: str) -> dict[str, int]:
    counted: dict[str, int] = {}
    for element, count in re.findall(r"([A-Z][a-z]?)(\d*)", formula):
        counted[element] = counted.get(element, 0) + int(count or 1)
    return counted


def diffusivity_in_air(name: str, temperature: float) -> float | None:
    """An estimate from the formula [m^2/s], None where the formula is not on file."""
    if known_name(name) is None:
        return None
    entry = substance(name)
    if not entry.formula or entry.molar_mass is None:
        return None
    try:
        return vapour_diffusivity(
            _atoms(entry.formula), entry.molar_mass, temperature, rings=_RINGS.get(name, 0)
        )
    except AerodeError:
        return None
