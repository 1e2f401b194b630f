"""What the tables know of a thing on the shelf: its other names, how to confirm it, its look-alikes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import reference
from aerode.errors import ReferenceDataError
from aerode.records.materials import Electrolyte, MeshCard, PowderLot, Solution, SolventLot
from aerode.reference.substances import near_of_kind

if TYPE_CHECKING:
    from aerode.reference.materials import BenchUse, WettedMetal

__all__ = ["OnFile", "names_for", "on_file"]

_FUNCTIONS: dict[str, tuple[str, ...]] = {
    "powder": ("conductor", "active carbon", "catalyst", "wet-proofer", "pore former", "binder"),
    "polymer": ("binder", "wet-proofer"),
    "solvent": ("solvent",),
    "metal": ("collector",),
}
"""What is typed → the bench functions of the materials that are offered."""


def names_for(what: str) -> tuple[str, ...]:
    """The names on file that may be typed in a field.

    Parameters
    ----------
    what : str
        "powder", "polymer", "solvent" or "metal".

    Raises
    ------
    KeyError
        No such sort of field.

    Examples
    --------
    >>> names_for("powder")[:2]
    ('carbon black', 'acetylene black')
    """
    found = [use.material for word in _FUNCTIONS[what] for use in reference.bench_uses(function=word)]  # fmt: skip
    return tuple(dict.fromkeys(found))


@dataclass(frozen=True, slots=True, kw_only=True)
class OnFile:
    """One substance of a lot as typed, and what the tables say of it.

    `known` is the name on file, "" where there is none; then `near` holds the nearest names.
    """

    field: str
    typed: str
    known: str
    near: tuple[str, ...] = ()
    uses: tuple[BenchUse, ...] = ()
    wetted: tuple[WettedMetal, ...] = ()
    missing: str = ""
    """What cannot be told as long as the name is not on file."""


def on_file(record: object) -> tuple[OnFile, ...]:
    """What the tables know of the substances of a lot.

    Parameters
    ----------
    record : PowderLot, SolventLot, Solution, MeshCard, Electrolyte or any other
        Others have no substance of their own.

    Returns
    -------
    tuple of OnFile
        One for each substance that is named.
    """
    match record:
        case PowderLot():
            return (_told("substance", record.substance, record.function.value, _OF_POWDER),)
        case SolventLot():
            return (_told("substance", record.substance, "solvent", _OF_LIQUID),)
        case Solution():
            liquids = tuple(
                _told("liquid", part.of, "solvent", _OF_LIQUID) for part in record.liquid
            )
            return (_told("polymer", record.polymer, record.function.value, _OF_POLYMER), *liquids)
        case MeshCard():
            return (_told("material", record.material, "collector", _OF_METAL),)
        case Electrolyte():
            return (_told("salt", record.salt, "electrolyte", _OF_SALT),)
        case _:
            return ()


_OF_POWDER = "its density has to be typed, and no caution can be given for it"
_OF_POLYMER = (
    "its density has to be typed, and where it softens or breaks down when pressed is not known"
)
_OF_LIQUID = "no caution about its vapour or fire can be given: go by its safety data sheet"
_OF_SALT = "its conductivity, its oxygen and the cautions for it cannot be told"
_OF_METAL = "what salt water or lye does to it cannot be told"


_POWDERS = ("carbon", "catalyst", "polymer", "wax", "salt", "solid")
_KINDS: dict[str, tuple[str, ...]] = {
    "conductor": ("carbon",),
    "active carbon": ("carbon",),
    "catalyst": ("catalyst", "carbon"),
    "binder": ("polymer", "wax"),
    "wet-proofer": ("polymer", "wax"),
    "pore former": ("salt", "solid"),
    "polymer": ("polymer", "wax"),
    "solvent": ("solvent",),
    "liquid": ("solvent",),
    "material": ("mesh", "aluminium"),
    "salt": ("salt", "electrolyte"),
}
"""What is typed, or what it does → the kinds of names on file that can be meant."""


def _told(field: str, typed: str, function: str, missing: str) -> OnFile:
    try:
        known = reference.resolve(typed)
    except ReferenceDataError:
        near = near_of_kind(
            typed, _KINDS.get(field if field != "substance" else function, _POWDERS)
        )
        return OnFile(field=field, typed=typed, known="", near=near, missing=missing)
    uses = reference.bench_uses(known)
    wanted = tuple(use for use in uses if use.function == function)
    if field == "salt":  # what a salt does in a dry mix is nothing of a brine
        uses = ()
    metals = reference.wetted_metals(known) if function == "collector" else ()
    return OnFile(field=field, typed=typed, known=known, uses=wanted or uses, wetted=metals)
