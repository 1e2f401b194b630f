"""One name for each dry part, wherever a dry coat is told: a powder by its lot, a jar's solids by their polymer."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from aerode.records.materials import Function

if TYPE_CHECKING:
    from aerode.measure.mix.composition import Composition

__all__ = ["lot_names", "named_shares", "part_names"]

PLASTICISER = "plasticiser"


def part_names(composition: Composition) -> dict[str, str]:
    """The name of each dry part, by its key.

    Parameters
    ----------
    composition : Composition

    Returns
    -------
    dict of str to str
        A solution leaves its polymer, so that is told and not the jar; of two jars of one polymer
        the jar stands behind it. Its plasticiser is told as such.
    """
    powders = {part.of for part in composition.parts if part.powder}
    dissolved = [p for p in composition.parts if p.of not in powders and p.function is not Function.PLASTICISER]  # fmt: skip
    jars = Counter(part.substance for part in dissolved)
    names = {part.key: part.of for part in composition.parts if part.of in powders}
    for part in composition.parts:
        if part.of in powders:
            continue
        if part.function is Function.PLASTICISER:
            names[part.key] = PLASTICISER
        else:
            several = jars[part.substance] > 1 or part.substance in powders
            names[part.key] = f"{part.substance} ({part.of})" if several else part.substance
    return names


def lot_names(composition: Composition) -> dict[str, str]:
    """The name of what each lot leaves dry, by the lot: a jar's polymer, with its plasticiser where it has one."""
    names, found = part_names(composition), dict[str, str]()
    for part in composition.parts:
        if part.function is Function.PLASTICISER and part.of in found:
            found[part.of] += f" with {PLASTICISER}"
        else:
            found[part.of] = names[part.key]
    return found


def named_shares(composition: Composition) -> dict[str, float]:
    """Dry mass fraction by the name of the part [1], the largest first."""
    names, found = part_names(composition), dict[str, float]()
    for part in composition.parts:
        name = names[part.key]
        found[name] = found.get(name, 0.0) + composition.value("fraction", part.key)
    return dict(sorted(found.items(), key=lambda one: -one[1]))
