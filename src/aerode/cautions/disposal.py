"""What to mind when a thing leaves the bench for good: liquids that burn, lye, oxidisers, old powders.

Common practice, no source, but for the flash point that tells which liquids the waste rules call
ignitable (40 CFR 261.21, in the table of rules).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.cautions import lookup
from aerode.cautions.policy import LYES

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["LOCAL_RULE", "liquid_leaves", "powder_leaves", "salt_leaves"]

LOCAL_RULE = "Section 13 of its safety data sheet and your local waste rule decide."
_LYE = (
    "Lye burns skin and eyes: goggles and gloves. Closed and labelled, in a plastic vessel without "
    "aluminium or glass, to the waste point; not the drain. What touched aluminium still gives off "
    "hydrogen: a loose lid until no bubble rises."
)


def liquid_leaves(substances: Sequence[str]) -> str:
    """What to mind with the rest of a bottle or a jar of solution.

    Parameters
    ----------
    substances : sequence of str
        Its liquids, as they were entered; none: nobody named them.

    Returns
    -------
    str
        "" for water alone. A liquid without a flash point on file is treated as one that burns.

    Examples
    --------
    >>> liquid_leaves(["water"])
    ''
    >>> "not the drain" in liquid_leaves(["ethanol"])
    True
    """
    names = [lookup.known_name(one) or one for one in substances] or [
        "its liquid, which nobody named"
    ]
    burns = [name for name in names if name != "water" and not _is_cool(name)]
    others = [name for name in names if name != "water" and name not in burns]
    said: list[str] = []
    if burns:
        said.append(
            f"{' and '.join(burns)}: closed and labelled to the waste point, rags in a closed metal can; not the "
            "drain, no flame near it, and letting it dry in the air is no disposal"
        )
    if others:
        said.append(
            f"{' and '.join(others)}: closed and labelled to the waste point; not the drain"
        )
    return f"{'. '.join(f'{one[0].upper()}{one[1:]}' for one in said)}." if said else ""


def _is_cool(name: str) -> bool:
    """True for a flash point above the line at which the waste rules call a liquid ignitable."""
    line = lookup.rule("waste_limit", "ignitable liquid, flash point below")
    flash = lookup.fire(name).flash
    return flash is not None and line is not None and flash.value > line.value


def salt_leaves(salt: str, *, lye: bool) -> str:
    """What to mind with the rest of an electrolyte; "" for a brine, which holds nothing to mind.

    Parameters
    ----------
    salt : str
        As it was entered.
    lye : bool
        Whether it is one, as far as its name says.
    """
    return _LYE if lye or (lookup.known_name(salt) or "") in LYES else ""


def powder_leaves(substance: str, *, recovered: bool) -> str:
    """What to mind with the rest of a powder.

    Parameters
    ----------
    substance : str
        As it was entered.
    recovered : bool
        Whether it came out of something old.
    """
    name = lookup.known_name(substance)
    said = [
        "In a closed bag, wetted or shut slowly so that no dust rises; not swept, not the drain"
    ]
    if name is not None and (name in LYES or name == "ammonium chloride"):
        said.append(
            "never together with lye or with an acid" if name not in LYES else _LYE.rstrip(".")
        )
    if name is not None and ("manganese" in name or lookup.remark(name, "oxidiser")):
        said.append(
            "An oxidiser: apart from carbon dust, metal powder and rags, to the waste point"
        )
    if recovered:
        said.append(
            "Out of old cells it may hold zinc and lead: to the waste point, with batteries"
        )
    return f"{'. '.join(said)}."
