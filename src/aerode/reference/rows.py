"""What a published figure is: one row of a table, with its source, range and status.

Nothing here reads a file; `aerode.reference.loader` does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

__all__ = [
    "KNOWN_UNITS",
    "HowRead",
    "PublishedRow",
    "Source",
    "Status",
    "UncertaintyKind",
    "ValidRange",
]

# Every unit a table may carry, and the SI unit of the same kind. A test checks each against
# `aerode.units`; the list stands here so that reading a table needs no unit library.
KNOWN_UNITS: dict[str, str] = {
    "1": "1", "%": "1", "ppm": "1", "mol/mol": "1", "g/g": "1", "kg/kg": "1",
    "K": "K", "degC": "K", "Pa": "Pa", "kPa": "Pa", "MPa": "Pa", "bar": "Pa", "mmHg": "Pa",
    "MPa^0.5": "Pa^0.5",
    "kg/m^3": "kg/m^3", "g/cm^3": "kg/m^3", "mg/m^3": "kg/m^3", "ug/m^3": "kg/m^3", "g/m^3": "kg/m^3", "mg/L": "kg/m^3",
    "m^2/kg": "m^2/kg", "m^2/g": "m^2/kg",
    "Pa s": "Pa s", "mPa s": "Pa s", "S/m": "S/m", "mS/cm": "S/m", "S/cm": "S/m",
    "m^2/s": "m^2/s", "cm^2/s": "m^2/s", "N": "N", "N/m": "N/m", "mN/m": "N/m",
    "mol/m^3": "mol/m^3", "mol/L": "mol/m^3", "mmol/L": "mol/m^3", "mol/kg": "mol/kg", "umol/kg": "mol/kg",
    "m^3/mol": "m^3/mol", "L/mol": "m^3/mol", "L/(mol K)": "m^3/(mol K)", "kg/mol": "kg/mol", "g/mol": "kg/mol",
    "J/mol": "J/mol", "kJ/mol": "J/mol", "J/(mol K)": "J/(mol K)",
    "J/kg": "J/kg", "kJ/g": "J/kg", "J": "J", "mJ": "J",
    "A": "A", "W": "W", "V": "V", "mV": "V", "V/K": "V/K", "mV/K": "V/K", "C/mol": "C/mol",
    "A/m^2": "A/m^2", "mA/cm^2": "A/m^2", "uA/cm^2": "A/m^2", "A/cm^2": "A/m^2",
    "C/kg": "C/kg", "mAh/g": "C/kg", "Ah/g": "C/kg", "Ah/kg": "C/kg",
    "C/m^2": "C/m^2", "C/cm^2": "C/m^2", "F/m^2": "F/m^2", "uF/cm^2": "F/m^2",
    "kg/(m^2 s)": "kg/(m^2 s)", "mg/(cm^2 h)": "kg/(m^2 s)", "mg/(cm^2 min)": "kg/(m^2 s)",
    "degree": "rad", "1/K": "1/K", "ohm m": "ohm m", "s": "s", "min": "s", "h": "s", "m": "m",
    "m/s": "m/s", "cm/s": "m/s", "m/min": "m/s", "m^3/min": "m^3/s", "m^3/h": "m^3/s", "1/h": "1/s",
    "m^3/Ah": "m^3/C", "cm^2 h/m^3": "s/m",
    "mppcf": "mppcf",  # million particles per cubic foot: kept as it is, no mass can be told from it
}  # fmt: skip


class HowRead(StrEnum):
    """How a figure came to be on file.

    One rule for pages on the web. `READ`, and so verified: a page of the body that issues the
    figure, or of an agency of the same government (OSHA and NIOSH print each other's limits), or
    a copy of the printed page, sheet or abstract itself. `SECONDARY`: a page of anybody else that
    repeats the figure (a limit of ACGIH or of the EU on an agency's page, too), an excerpt, a
    table that somebody typed off, means of pages, and every page or sheet of a supplier. A source
    of the kind "web page" or "data sheet" is therefore never `READ`; the loader refuses it.
    """

    READ = "read"  # read in the published source, its printed abstract or its issuer's own page
    TWO_COPIES = "two copies"  # two independent public copies agree
    LIBRARY = "library"  # tabulated in, or computed with, a named open library
    DERIVED = "derived"  # computed from other rows; the note says how
    SECONDARY = "secondary"  # read on a page of somebody else, a data sheet or an excerpt
    PRACTICE = "practice"  # a fact of the trade: common practice, no source
    MEMORY = "memory"  # from memory, not checked


class Status(StrEnum):
    """How far a figure can be trusted to be what its source says."""

    VERIFIED = "verified"
    SECONDARY = "secondary"
    UNVERIFIED = "unverified"


_STATUS = {
    HowRead.READ: Status.VERIFIED,
    HowRead.TWO_COPIES: Status.VERIFIED,
    HowRead.LIBRARY: Status.VERIFIED,
    HowRead.DERIVED: Status.VERIFIED,
    HowRead.SECONDARY: Status.SECONDARY,
    HowRead.PRACTICE: Status.UNVERIFIED,
    HowRead.MEMORY: Status.UNVERIFIED,
}
_PREFERENCE = {Status.VERIFIED: 0, Status.SECONDARY: 1, Status.UNVERIFIED: 2}


class UncertaintyKind(StrEnum):
    """What the uncertainty of a row means."""

    STANDARD = "standard"
    RELATIVE_STANDARD = "relative standard"
    LIMIT = "limit"  # plus or minus, nothing said about the shape
    RELATIVE_LIMIT = "relative limit"
    RANGE = "range"  # low to high is all that is published
    NONE_STATED = "none stated"
    ABSENT = "absent"  # the source says that there is no figure


@dataclass(frozen=True, slots=True)
class ValidRange:
    """One variable and the span in which a figure holds; `unit` as in `KNOWN_UNITS`."""

    variable: str
    low: float
    high: float
    unit: str

    def holds(self, value: float) -> bool:
        """True if `value` [unit] lies inside, ends included (to a part in 10^9).

        >>> ValidRange("temperature", 273.15, 373.15, "K").holds(298.15)
        True
        """
        slack = 1e-9 * max(abs(self.low), abs(self.high), 1e-300)
        return self.low - slack <= value <= self.high + slack

    def __str__(self) -> str:
        unit = "" if self.unit == "1" else f" {self.unit}"
        return f"{self.variable} {self.low:g} to {self.high:g}{unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One entry of the bibliography."""

    key: str
    authors: str
    year: str
    title: str
    published_in: str
    doi: str
    kind: str

    def __str__(self) -> str:
        doi = f", doi:{self.doi}" if self.doi else ""
        year = f" ({self.year})" if self.year else ""
        return f"{self.authors}{year}: {self.title}. {self.published_in}{doi}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedRow:
    """One published figure: what of which substance under which condition, and what it rests on.

    Exactly one of these carries the figure: `value`, `low`/`high` (either may stand alone as a
    bound), or `coefficients` of the equation that `place` or `note` names. A row whose
    `uncertainty_kind` is absent says that the source sets no figure.
    """

    table: str
    line: int
    substance: str
    quantity: str
    condition: str
    unit: str
    value: float | None
    low: float | None
    high: float | None
    coefficients: tuple[tuple[str, float], ...]
    uncertainty: float | None
    uncertainty_kind: UncertaintyKind
    source: str
    place: str
    valid_range: tuple[ValidRange, ...]
    how: HowRead
    note: str

    @property
    def status(self) -> Status:
        """Verified, secondary or unverified, from how the figure was read."""
        return _STATUS[self.how]

    @property
    def preference(self) -> int:
        """0 for verified, 1 for secondary, 2 for unverified: the stated order of preference."""
        return _PREFERENCE[self.status]

    @property
    def conditions(self) -> dict[str, str]:
        """The condition as words: `"body=OSHA; kind=TWA"` gives both, a bare word maps to itself."""
        parts = [p.strip() for p in self.condition.split(";") if p.strip()]
        pairs = [p.split("=", 1) if "=" in p else [p, p] for p in parts]
        return {k.strip(): v.strip() for k, v in pairs}

    @property
    def absent(self) -> bool:
        """True if the source says that there is no figure."""
        return self.uncertainty_kind is UncertaintyKind.ABSENT

    @property
    def centre(self) -> float | None:
        """The value, or the middle of a two-sided range; None for coefficients and bounds [unit]."""
        if self.value is not None:
            return self.value
        if self.low is not None and self.high is not None:
            return 0.5 * (self.low + self.high)
        return None

    @property
    def coefficient(self) -> dict[str, float]:
        """The coefficients by name."""
        return dict(self.coefficients)

    @property
    def values(self) -> tuple[float, ...]:
        """The coefficients in their order."""
        return tuple(number for _, number in self.coefficients)

    def standard_uncertainty(self, value: float | None = None) -> float | None:
        """The standard uncertainty [unit] at `value` (default: the centre); None where none is stated.

        Limits and ranges are taken as rectangular, GUM (JCGM 100:2008) 4.3.7.
        """
        at = self.centre if value is None else value
        if self.uncertainty is None:
            if self.uncertainty_kind is UncertaintyKind.RANGE and None not in (self.low, self.high):
                assert self.low is not None
                assert self.high is not None
                return (self.high - self.low) / math.sqrt(12.0)
            return None
        if self.uncertainty_kind is UncertaintyKind.STANDARD:
            return self.uncertainty
        if self.uncertainty_kind is UncertaintyKind.LIMIT:
            return self.uncertainty / math.sqrt(3.0)
        if at is None:
            return None
        share = abs(at) * self.uncertainty
        relative_limit = self.uncertainty_kind is UncertaintyKind.RELATIVE_LIMIT
        return share / math.sqrt(3.0) if relative_limit else share

    @property
    def where(self) -> str:
        """Table file and line, for messages."""
        return f"{self.table}.csv, line {self.line}"

    @property
    def shown(self) -> str:
        """The figure for people: value, range, bound, or the names of the coefficients."""
        unit = "" if self.unit == "1" else f" {self.unit}"
        if self.absent:
            return "none set"
        if self.value is not None:
            return f"{self.value:g}{unit}"
        if self.low is not None and self.high is not None:
            return f"{self.low:g} to {self.high:g}{unit}"
        if self.low is not None:
            return f"at least {self.low:g}{unit}"
        if self.high is not None:
            return f"at most {self.high:g}{unit}"
        return f"equation ({', '.join(name for name, _ in self.coefficients)}){unit}"
