"""Which exposure limit governs: the lowest one that was published, and a lower one from memory.

A limit from memory never loosens a published one. Where it is lower it is shown beside it and can
ask for a FIRST, never for a STOP.
"""

from __future__ import annotations

from dataclasses import dataclass

from aerode.cautions.lookup import Figure, cite, molar_mass
from aerode.physics.exposure import mass_concentration
from aerode.reference.hazards import ExposureLimit, exposure_limits
from aerode.reference.rows import Status

__all__ = ["DAY", "QUARTER", "Governing", "governing", "limit_kinds"]

# A limit on the polycyclic aromatics that a soot may carry, counted as those and not as the soot.
_ANOTHER_SUBSTANCE = "polycyclic aromatics"

DAY = 28800.0  # s, the averaging time of a day's limit; 8 h: cfr_1910_1000
QUARTER = 900.0  # s, the averaging time of a short-term limit; 15 min: niosh_pocket_guide


@dataclass(frozen=True, slots=True, kw_only=True)
class Governing:
    """The limits of one kind for one substance [kg/m^3].

    `published` is the lowest that was read somewhere, None where none is on file; `memory` is a
    lower one that was not checked, None where there is none.
    """

    substance: str
    kind: str
    published: Figure | None
    memory: Figure | None

    @property
    def strictest(self) -> Figure | None:
        """The lower of the two."""
        return self.memory or self.published


def limit_kinds(limit: ExposureLimit) -> str:
    """Over what a limit averages: "day", "quarter hour", "instant" or "escape"."""
    if limit.kind == "IDLH":
        return "escape"
    if limit.kind == "TWA":
        return "day"
    if limit.kind == "STEL" or limit.averaging == "15 min":
        return "quarter hour"
    return "instant"


def _in_si(limit: ExposureLimit, mass: float | None) -> Figure | None:
    if limit.value is None or _ANOTHER_SUBSTANCE in limit.body:
        return None
    if limit.unit == "ppm":
        if mass is None:
            return None
        value = mass_concentration(limit.value * 1e-6, mass)
    elif limit.unit == "mg/m^3":
        value = limit.value * 1e-6
    else:  # particles counted per cubic foot cannot be turned into a mass
        return None
    note = f" ({limit.note})" if limit.note else ""
    averaged = "" if limit.averaging == "instant" else f" over {limit.averaging}"
    shown = f"{limit.value:g} {limit.unit}{averaged}, {limit.body}".replace("m^3", "m³")
    return Figure(value, shown, cite(limit.row), limit.status, note.strip())


def governing(substance: str, kind: str) -> Governing:
    """The limits of one kind for a substance, lowest first.

    Parameters
    ----------
    substance : str
        The name on file.
    kind : str
        "day", "quarter hour", "instant" or "escape".

    Returns
    -------
    Governing
        Both fields None: no limit on file.
    """
    mass = molar_mass(substance)
    held = [
        figure
        for limit in exposure_limits(substance)
        if limit_kinds(limit) == kind and (figure := _in_si(limit, mass)) is not None
    ]
    published = min(
        (f for f in held if f.status is not Status.UNVERIFIED), key=lambda f: f.value, default=None
    )
    memory = min(
        (f for f in held if f.status is Status.UNVERIFIED), key=lambda f: f.value, default=None
    )
    if memory is not None and published is not None and memory.value >= published.value:
        memory = None
    return Governing(substance=substance, kind=kind, published=published, memory=memory)
