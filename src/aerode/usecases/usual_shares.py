"""What is on file of how much of a material a dry coat usually holds, beside what a mix holds of it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from aerode.errors import ReferenceDataError
from aerode.records.materials import Function, PowderLot
from aerode.reference.materials import bench_uses
from aerode.reference.substances import resolve
from aerode.usecases.off_shelf import offered

if TYPE_CHECKING:
    from aerode.records.doses import MixAnswer
    from aerode.reference.materials import BenchUse
    from aerode.store.bench_file import BenchFile

__all__ = ["NO_ACTIVE", "lacks_active_carbon", "past_usual_share"]

_RANGE = re.compile(r"(\d+) to (\d+) % of the dry layer")
_FAR = 2.0  # judgement
"""How many times the upper end of the usual range counts as far past it."""
_NOT_ACTIVE = "as the active carbon"
NO_ACTIVE = "an active carbon, for surface"
"""What a shelf lacks whose only carbon is one that carries current and has little surface."""


def past_usual_share(found: MixAnswer) -> tuple[str, ...]:
    """A line for each material of which the dry coat holds far more than is usual.

    Parameters
    ----------
    found : MixAnswer
        What the mix dries to; parts of one material count together.

    Returns
    -------
    tuple of str
        Each with the range on file and its source; empty where no range is on file.
    """
    held: dict[str, float] = {}
    names: dict[str, list[str]] = {}
    for part in found.dry:
        if (known := _known(part.substance)) and part.mass_fraction.value is not None:
            held[known] = held.get(known, 0.0) + part.mass_fraction.value
            names.setdefault(known, []).append(part.name or part.of)
    return tuple(
        line
        for substance, share in held.items()
        if (line := _line(substance, share, names[substance]))
    )


def _line(substance: str, share: float, names: list[str]) -> str:
    for use in bench_uses(substance):
        match = _RANGE.search(use.serves)
        if match is None or 100.0 * share <= _FAR * float(match[2]):
            continue
        lots = " and ".join(names)
        said = lots if substance in lots else f"{lots} ({substance})"
        return (
            f"{said} is {100.0 * share:.0f} % of the dry coat; usual as {use.function} is {match[1]} to {match[2]} % "
            f"of the dry layer ({_source(use)}). It must not replace {use.must_not_replace}."
        )
    return ""


def _source(use: BenchUse) -> str:
    return "common practice, no source" if use.source == "common_practice" else use.source


def _known(substance: str) -> str:
    try:
        return resolve(substance)
    except ReferenceDataError:
        return ""


def lacks_active_carbon(bench: BenchFile) -> bool:
    """Whether the only carbons on the shelf are ones that must not stand in for an active carbon."""
    powders = offered(bench, PowderLot)
    if any(one.function is Function.ACTIVE_CARBON for one in powders):
        return False
    uses = [use for one in powders if (known := _known(one.substance)) for use in bench_uses(known)]
    active = any(use.function == Function.ACTIVE_CARBON.value for use in uses)
    return not active and any(_NOT_ACTIVE in use.must_not_replace for use in uses)
