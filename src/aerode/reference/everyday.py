"""Everyday words for what stands on a shelf, and the names on file that are near a typed one."""

from __future__ import annotations

import difflib
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

__all__ = ["EVERYDAY", "near_names"]

# Common practice, no source: what people in workshops call things. A word may mean several.
EVERYDAY: dict[str, tuple[str, ...]] = {
    "soot": ("carbon black",),
    "ink": ("carbon black",),
    "toner": ("carbon black",),
    "black": ("carbon black", "acetylene black"),
    "char": ("biochar", "activated carbon"),
    "charcoal": ("biochar", "activated carbon"),
    "barbecue": ("biochar",),
    "pencil": ("graphite",),
    "coke": ("biochar", "graphite"),
    "spirit": ("ethanol",),
    "spirits": ("ethanol",),
    "meths": ("ethanol",),
    "denatured": ("ethanol",),
    "bioethanol": ("ethanol",),
    "vodka": ("ethanol",),
    "alcohol": ("ethanol", "2-propanol"),
    "rubbing": ("2-propanol",),
    "isopropyl": ("2-propanol",),
    "disinfectant": ("2-propanol", "ethanol"),
    "nail": ("acetone", "ethyl acetate"),
    "thinner": ("toluene", "xylenes", "acetone"),
    "salt": ("sodium chloride", "sea salt"),
    "brine": ("sodium chloride", "sea water"),
    "seawater": ("sea water",),
    "lye": ("sodium hydroxide", "potassium hydroxide"),
    "caustic": ("sodium hydroxide", "potassium hydroxide"),
    "potash": ("potassium hydroxide",),
    "drain": ("sodium hydroxide",),
    "rust": ("hematite", "magnetite"),
    "iron": ("magnetite", "hematite"),
    "manganese": ("manganese dioxide",),
    "battery": ("manganese dioxide",),
    "glue": ("polyvinyl acetate", "EVA", "PVA"),
    "teflon": ("PTFE",),
    "plumber": ("PTFE",),
    "styrofoam": ("polystyrene",),
    "foam": ("polystyrene",),
    "plexiglass": ("PMMA",),
    "perspex": ("PMMA",),
    "candle": ("paraffin wax", "beeswax"),
    "wax": ("paraffin wax", "beeswax"),
    "caulk": ("silicone",),
    "foil": ("kitchen foil",),
    "can": ("drink can",),
}
"""A word as people say it → names on file, likeliest first."""

_ALIKE = 0.75  # judgement
"""How alike two spellings are before one is offered for the other; below it nothing is."""


def near_names(
    typed: str, known: Mapping[str, str], *, among: Collection[str] = (), most: int = 3
) -> tuple[str, ...]:
    """The names on file that a typed one may stand for.

    Parameters
    ----------
    typed : str
        As typed: "soot", "black soot", "ethnol".
    known : mapping
        Every name and alias, folded → the name on file.
    among : collection of str
        Only these names, where what is typed is of a known sort; all if left out.
    most : int
        How many at most.

    Returns
    -------
    tuple of str
        Everyday words first, then slips of spelling; empty where nothing is near.

    Examples
    --------
    >>> near_names("soot", {"carbon black": "carbon black", "salt": "sodium chloride"})
    ('carbon black',)
    >>> near_names("zz top", {"carbon black": "carbon black"})
    ()
    """
    folded = re.sub(r"[\s_]+", " ", typed.strip().casefold())
    words = re.findall(r"[^\W\d_]+", folded)
    found = [name for word in words for name in EVERYDAY.get(word, ()) if name in known.values()]
    parts = [one for one in known if len(one) > 3 and re.search(rf"\b{re.escape(one)}\b", folded)]
    found += [known[one] for one in sorted(parts, key=len, reverse=True)]
    alike = difflib.get_close_matches(folded, known, n=2 * most, cutoff=_ALIKE)
    found += [known[one] for one in alike]
    kept = [name for name in dict.fromkeys(found) if not among or name in among]
    return tuple(kept[:most])
