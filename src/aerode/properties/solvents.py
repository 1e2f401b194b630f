"""Which solvent, or blend of solvents, dissolves which polymer, as a hint."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Literal

from aerode.errors import ReferenceDataError
from aerode.physics import solubility
from aerode.physics.checked_inputs import above_zero, not_negative
from aerode.physics.water import ZERO_CELSIUS
from aerode.properties.answers import si_value, worst_status
from aerode.properties.lookup import lookup
from aerode.reference import PublishedRow, Status, resolve, select

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["Hint", "SolubilityHint", "solubility_hint"]

# Below it "likely", above the other "unlikely": common practice, no source.
_LIKELY = 0.8
_UNLIKELY = 1.1  # common practice, no source
_ROOM = 20.0 + ZERO_CELSIUS  # K, judgement: where the masses of a blend are turned into volumes
_MIXTURE = {"m-xylene": "xylenes"}  # an isomer without a row, and what has one
_OF_A_BLEND = (
    "a blend changes as it dries: the quick liquid leaves first",
    "only liquids that mix are a blend: shake them and look for two layers",
)


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


def solubility_hint(
    solvent: str | Mapping[str, float],
    polymer: str,
    *,
    shares: Literal["volume", "mass"] = "volume",
) -> SolubilityHint:
    """Whether a solvent or a blend is likely to dissolve a polymer, from every set on file.

    Parameters
    ----------
    solvent : str or mapping of str to float
        Name, alias or CAS number; for a blend how much of each, in any one unit of mass or volume.
    polymer : str
        Name, alias or CAS number.
    shares : {"volume", "mass"}
        What the numbers of a blend count. Masses are turned into volumes with the densities on
        file at 20 degC.

    Returns
    -------
    SolubilityHint
        Where the sets disagree the hint is "cannot tell". Crystalline polymers are told
        insoluble, whatever their distance.

    Raises
    ------
    ReferenceDataError
        No parameters on file for one of them.
    RangeError
        A blend of nothing, or negative shares.
    CannotTellError
        Masses of a liquid whose density is not on file.

    Notes
    -----
    A blend has the volume-weighted mean of the parameters (hansen_handbook, chapter 1). Two
    liquids that do not dissolve a polymer can together do so.

    Examples
    --------
    >>> solubility_hint("toluene", "polystyrene").hint.name
    'LIKELY'
    >>> solubility_hint({"toluene": 60.0, "ethanol": 40.0}, "PVB").solvent
    'toluene 60 % + ethanol 40 % by volume'
    >>> solubility_hint("limonene", "PTFE").hint.name
    'INSOLUBLE'
    """
    amounts = {solvent: 1.0} if isinstance(solvent, str) else solvent
    names = tuple(resolve(name) for name in amounts)
    solid = resolve(polymer)
    liquids = [_parameters_of(name) for name in names]
    crystalline = select(solid, "solubility_remark")
    spheres = [row for row in select(solid, "hansen_parameters") if "radius" in row.coefficient]
    if not (spheres or crystalline):
        raise _no_parameters(solid)
    volumes = _volumes(names, list(amounts.values()), shares)
    centre = solubility.mixed_parameters([_parts(row) for row in liquids], volumes)
    differences = tuple(
        solubility.relative_energy_difference(
            solubility.hansen_distance(centre, _parts(row)),
            si_value(row.coefficient["radius"], row.unit),
        )
        for row in spheres
    )
    used = [*liquids, *spheres, *crystalline]
    return SolubilityHint(
        solvent=_called(names, volumes),
        polymer=solid,
        hint=Hint.INSOLUBLE if crystalline else _hint(differences),
        relative_energy_differences=differences,
        sources=tuple(dict.fromkeys(row.source for row in used)),
        status=worst_status(used),
        warnings=(
            *(row.note for row in crystalline),
            "a hint: blind to molar mass, crystals and cross-links",
            *(_OF_A_BLEND if len(names) > 1 else ()),
        ),
    )


def _parameters_of(liquid: str) -> PublishedRow:
    rows = select(liquid, "hansen_parameters")
    if not rows:
        raise _no_parameters(liquid, _MIXTURE.get(liquid))
    return rows[0]


def _no_parameters(name: str, mixture: str | None = None) -> ReferenceDataError:
    small_piece = "try a small piece in a closed glass overnight"
    return ReferenceDataError(
        f"no Hansen parameters of {name} on file",
        allowed="a solvent and a polymer with parameters",
        next_step=f"ask for {mixture}, or {small_piece}" if mixture else small_piece,
    )


def _volumes(names: Sequence[str], amounts: Sequence[float], shares: str) -> list[float]:
    """The volume of each liquid as a share of all."""
    if shares == "mass" and len(names) > 1:
        density = [lookup(n, "density", temperature=_ROOM).value for n in names]
        amounts = [mass / rho for mass, rho in zip(amounts, density, strict=True)]
    kept = not_negative("shares of the blend", amounts)
    total = float(above_zero("sum of the shares of the blend", kept.sum()))
    return [float(volume) / total for volume in kept]


def _called(names: Sequence[str], volumes: Sequence[float]) -> str:
    if len(names) == 1:
        return names[0]
    parts = (f"{name} {100.0 * v:.3g} %" for name, v in zip(names, volumes, strict=True))
    return " + ".join(parts) + " by volume"


def _hint(differences: tuple[float, ...]) -> Hint:
    if all(red < _LIKELY for red in differences):
        return Hint.LIKELY
    if all(red > _UNLIKELY for red in differences):
        return Hint.UNLIKELY
    return Hint.CANNOT_TELL
