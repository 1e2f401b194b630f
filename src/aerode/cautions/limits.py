"""Which exposure limit governs: the lowest one that was published, and a lower one from memory.

A limit from memory never loosens a published one. Where it is lower it is shown beside it and can
ask for a FIRST, never for a STOP.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from aerode.cautions.lookup import Figure, cite, molar_mass
from aerode.physics.exposure import mass_concentration
from aerode.reference.hazards import ExposureLimit, exposure_limits
from aerode.reference.rows import Status

__all__ = [
    "DAY",
    "QUARTER",
    "Governing",
    "governing",
    "held_over_a_quarter",
    "limit_kinds",
    "limit_words",
]

# A limit on the polycyclic aromatics that a soot may carry, counted as those and not as the soot.
_ANOTHER_SUBSTANCE = "polycyclic aromatics"

_ADVISED = ("NIOSH REL", "ACGIH TLV", "AIHA WEEL", "EU IOELV")
"""Bodies whose limits are recommendations by their own name."""
_LAW = ("OSHA PEL", "Ontario", "DE TRGS")
"""Bodies whose limits are law where they hold."""

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


def held_over_a_quarter(day: Governing) -> Governing:
    """The limit of a day held over 15 min, for a substance without one over 15 min.

    Parameters
    ----------
    day : Governing
        The limits over the day.

    Returns
    -------
    Governing
        As if from memory, since nobody published it so: it can ask for a FIRST, never for a STOP. It is
        stricter than any rule for short peaks known of, which let them go some times above the day.
    """
    held = day.strictest
    if held is None:
        return replace(day, kind="quarter hour")
    figure, _, body = held.shown.rpartition(", ")
    stands_in = replace(held, shown=f"{figure} held over 15 min, {body}", status=Status.UNVERIFIED)
    return Governing(substance=day.substance, kind="quarter hour", published=None, memory=stands_in)


def limit_words(shown: str, more: str = "") -> str:
    """A limit for people: advised by a body, or law, with its averaging time.

    Parameters
    ----------
    shown : str
        As a figure shows it: value and averaging time, comma, body.
    more : str
        What else stands behind the body.

    Returns
    -------
    str

    Examples
    --------
    >>> limit_words("250 ppm over 10 h, NIOSH REL"), limit_words("1000 ppm over 8 h, OSHA PEL")
    ('advised limit of 250 ppm over 10 h (NIOSH REL)', 'legal limit of 1000 ppm over 8 h (OSHA PEL)')
    """
    figure, _, body = shown.rpartition(", ")
    behind = ", ".join(one for one in (body, more) if one)
    for whose, bodies in (("advised ", _ADVISED), ("legal ", _LAW)):
        if body.startswith(bodies):
            return f"{whose}limit of {figure} ({behind})"
    return f"limit of {figure} ({behind})"
