"""The usual words on making and measuring: what is read before anything is on the bench, and aloud in a class."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection

__all__ = ["BEFORE_MAKING", "BEFORE_MEASURING", "IN_A_CLASS", "not_said_by", "powders_first"]

BEFORE_MEASURING = (
    "Salt water on aluminium gives off hydrogen: the jar stays open, no flame near it.",
    "Lye: goggles and gloves on before it is poured, water at hand; it makes much more hydrogen and heat.",
    "A small resistor gets hot.",
)
"""Common practice, no source; what a described cell does is reckoned by the cautions engine."""

BEFORE_MAKING = (
    "Powders: wet them in the jar before anything is stirred; wipe wet, never sweep or blow.",
    "Solvent gives off vapour that can burn and must not be breathed in: moving air, lid on, no flame, no "
    "spark; goggles and gloves on.",
    "A coat dries in moving air without heat until two weighings agree, ten minutes apart or as much longer as "
    "its page says: no warm plate before that, no household oven ever, no plastic whose name is not known.",
    "Wet rags go into a closed metal can, not down the drain.",
)
"""Common practice, no source; the safety data sheet of what is used comes first."""

IN_A_CLASS = (
    BEFORE_MEASURING[0],
    "Lye is not for a class: salt water only. Where a teacher shows it: goggles and gloves on before it is poured, water at hand.",
    BEFORE_MEASURING[2],
)
"""The words before measuring, as the cautions refuse lye for a class; common practice, no source."""


_SAID_BY = {BEFORE_MAKING[0]: "dust", BEFORE_MAKING[3]: "flammable liquid"}
"""The hazard of the cautions engine that says the same, and more."""


def not_said_by(hazards: Collection[str]) -> tuple[str, ...]:
    """The usual words before making that no caution of these hazards says already.

    Parameters
    ----------
    hazards : collection of str
        Of the cautions that stand beside them.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> len(BEFORE_MAKING) - len(not_said_by(["dust"]))
    1
    """
    return tuple(line for line in BEFORE_MAKING if _SAID_BY.get(line) not in hazards)


def powders_first(powders: str, liquid: str) -> str:
    """In which order powder and liquid meet: powder lies still in the jar, and the liquid wets it.

    Dry powder that falls into a liquid raises dust, and may carry static to vapour that can burn.
    Common practice, no source.

    Parameters
    ----------
    powders : str
        Their names; "" where they are not named.
    liquid : str
        What wets them.

    Returns
    -------
    str

    Examples
    --------
    >>> powders_first("", "the liquid")
    'Powders into the jar; wet them with a little of the liquid before anything is stirred.'
    """
    named = f" ({powders})" if powders else ""
    return f"Powders into the jar{named}; wet them with a little of {liquid} before anything is stirred."
