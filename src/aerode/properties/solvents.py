"""Which solvent dissolves which polymer, as a hint."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from aerode.errors import ReferenceDataError
from aerode.physics import solubility
from aerode.properties.answers import si_value, worst_status
from aerode.reference import PublishedRow, Status, resolve, select

__all__ = ["Hint", "SolubilityHint", "solubility_hint"]

_LIKELY = (
    0.8  # below it a hint of "likely", above `_UNLIKELY` "unlikely" (common practice, no source)
)
_UNLIKELY = 1.1


class Hint(StrEnum):
    """What the Hansen distance suggests; never a verdict."""

    LIKELY = "likely to dissolve"
    CANNOT_TELL = "cannot tell: try a small piece overnight"
    UNLIKELY = "unlikely to dissolve"
    INSOLUBLE = "does not dissolve at room temperature, whatever the distance says"


@dataclass(frozen=True, slots=True, kw_only=True)
class SolubilityHint:
    """A hint, the relative energy difference of each set on file, and what it rests on."""

    solvent: str
    polymer: str
    hint: Hint
    relative_energy_differences: tuple[float, ...]
    sources: tuple[str, ...]
    status: Status
    warnings: tuple[str, ...]


def _parts(row: PublishedRow) -> tuple[float, float, float]:
    numbers = row.coefficient
    names = ("dispersion", "polar", "hydrogen_bonding")
    d, p, h = (si_value(numbers[name], row.unit) for name in names)
    return d, p, h


def solubility_hint(solvent: str, polymer: str) -> SolubilityHint:
    """Whether a solvent is likely to dissolve a polymer, from every set of parameters on file.

    Parameters
    ----------
    solvent, polymer : str
        Name, alias or CAS number.

    Returns
    -------
    SolubilityHint
        Where the sets disagree the hint is "cannot tell". Crystalline polymers are told
        insoluble, whatever their distance.

    Raises
    ------
    ReferenceDataError
        No parameters on file for one of them.

    Examples
    --------
    >>> solubility_hint("toluene", "polystyrene").hint.name
    'LIKELY'
    >>> solubility_hint("limonene", "PTFE").hint.name
    'INSOLUBLE'
    """
    liquid, solid = resolve(solvent), resolve(polymer)
    crystalline = select(solid, "solubility_remark")
    one = select(liquid, "hansen_parameters")
    spheres = [row for row in select(solid, "hansen_parameters") if "radius" in row.coefficient]
    if not one or not (spheres or crystalline):
        lacking = liquid if not one else solid
        raise ReferenceDataError(
            f"no Hansen parameters of {lacking} on file",
            allowed="a solvent and a polymer with parameters",
            next_step="try a small piece in a closed glass overnight",
        )
    centre = _parts(one[0])
    differences = tuple(
        solubility.relative_energy_difference(
            solubility.hansen_distance(centre, _parts(row)),
            si_value(row.coefficient["radius"], row.unit),
        )
        for row in spheres
    )
    used = [one[0], *spheres, *crystalline]
    return SolubilityHint(
        solvent=liquid,
        polymer=solid,
        hint=Hint.INSOLUBLE if crystalline else _hint(differences),
        relative_energy_differences=differences,
        sources=tuple(dict.fromkeys(row.source for row in used)),
        status=worst_status(used),
        warnings=(
            *(row.note for row in crystalline),
            "a hint: blind to molar mass, crystals and cross-links",
        ),
    )


def _hint(differences: tuple[float, ...]) -> Hint:
    if all(red < _LIKELY for red in differences):
        return Hint.LIKELY
    if all(red > _UNLIKELY for red in differences):
        return Hint.UNLIKELY
    return Hint.CANNOT_TELL
