"""What a large pot does to the air of a home: said before it is weighed, and asked about."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.cautions import lookup
from aerode.cautions.comparing import plain
from aerode.physics.exposure import mole_fraction

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.cautions.views import MixView

__all__ = ["LARGE", "MOST", "large_words"]

LARGE = 0.5  # judgement
"""[kg] wet at once above which a pot is asked about; hand-made pots hold some grams to some tens of grams."""
MOST = 20.0  # judgement
"""[kg] wet at once that nobody stirs by hand on a table."""


def large_words(view: MixView, total: float) -> str:
    """What a pot of this size gives off and raises, in words.

    Parameters
    ----------
    view : MixView
        What it holds.
    total : float
        Its wet mass [kg].

    Returns
    -------
    str
        The vapour is that of an ideal gas at 25 °C, 101.325 kPa; the air is what it would bring to the
        lower flammable limit if it were spread evenly: v = m R T / (M p), air = v / limit.
    """
    liquids = _summed({}, [(q.substance or q.name, q.mass) for q in view.liquids])
    powder = sum(p.mass or 0.0 for p in view.powders)
    said = [f"{_mass(total)} at once is a lot for a table: a pot made by hand holds some grams"]
    said += [words for name, mass in liquids.items() if (words := _vapour(name, mass))]
    if powder > 0:
        said.append(
            f"{_mass(powder)} of dry powder raises dust as it is poured, which is not to be breathed, and "
            "a cloud of carbon or polymer dust can burn"
        )
    return ". ".join(f"{one[0].upper()}{one[1:]}" for one in said) + "."


def _summed(found: dict[str, float], parts: list[tuple[str, float | None]]) -> Mapping[str, float]:
    for name, mass in parts:
        if mass:
            found[name] = found.get(name, 0.0) + mass
    return found


def _mass(kilograms: float) -> str:
    return f"{plain(kilograms)} kg" if kilograms >= 1.0 else f"{plain(1e3 * kilograms)} g"


def _vapour(name: str, mass: float) -> str:
    known = lookup.known_name(name)
    if known == "water":
        return ""
    molar, lower = (lookup.molar_mass(known), lookup.fire(known).lower) if known else (None, None)
    if molar is None:
        return f"{_mass(mass)} of {name} would dry into the air, and what its vapour does is not on file"
    volume = mass * mole_fraction(1.0, molar)  # at a share of 1 the vapour fills it alone
    text = f"{_mass(mass)} of {name} dries to {plain(volume)} m³ of vapour"
    if lower is None:
        return text
    return f"{text}, which brings {plain(volume / lower.value)} m³ of air to what can burn ({lower.shown})"
