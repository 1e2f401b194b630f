"""The liquid of a sized battery: which one, whether it is the one that was read in, what may corrode in it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode.cautions import lookup
from aerode.cautions.hydrogen import gas_current
from aerode.cautions.policy import LYES
from aerode.measure.comparison.entrants import recipe_of
from aerode.physics.hydrogen import hydrogen_volume
from aerode.records.materials import Electrolyte
from aerode.reference import molar_mass

if TYPE_CHECKING:
    from aerode.cautions.situation import CellPlan
    from aerode.measure.comparison.study import Study
    from aerode.records.sizes import Consumption
    from aerode.store.bench_file import BenchFile

__all__ = ["Liquid", "at_the_high_end", "is_lye", "liquid_of", "liquid_warnings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid:
    """What the battery holds, and what the electrodes of its recipe were read in."""

    salt: str
    """"" where nobody said it."""
    mass_fraction: float | None
    read_in: tuple[str, ...]
    """Salts of the cells that were read, each once, by the name on file where there is one."""


def is_lye(salt: str) -> bool:
    """Whether a salt, as it was entered, is a lye on file.

    >>> is_lye("KOH"), is_lye("NaCl"), is_lye("")
    (True, False, False)
    """
    return lookup.known_name(salt) in LYES


def _name(salt: str) -> str:
    return lookup.known_name(salt) or salt.strip()


def liquid_of(bench: BenchFile, study: Study, recipe: str, said: str) -> Liquid:
    """The liquid as said, by its batch or its salt; else that of the cells, a lye before a brine.

    Parameters
    ----------
    bench : BenchFile
    study : Study
    recipe : str
    said : str
        "" where nothing was said.

    Returns
    -------
    Liquid
    """
    found: dict[str, float | None] = {}
    for entrant in study.entrants():
        if recipe_of(entrant.electrode) != recipe:
            continue
        batch = entrant.electrolyte
        salt = batch.salt if batch else entrant.cell.electrolyte if entrant.cell else ""
        if salt.strip():
            share = batch.mass_fraction.value if batch and batch.mass_fraction else None
            found.setdefault(_name(salt), share)
    read_in = tuple(found)
    batch = bench.find(Electrolyte, said) if said.strip() else None
    if batch is not None:
        share = batch.mass_fraction.value if batch.mass_fraction else None
        return Liquid(salt=batch.salt, mass_fraction=share, read_in=read_in)
    if said.strip():
        return Liquid(salt=said, mass_fraction=None, read_in=read_in)
    salt = next((one for one in read_in if is_lye(one)), read_in[0] if read_in else "")
    return Liquid(salt=salt, mass_fraction=found.get(salt), read_in=read_in)


def liquid_warnings(liquid: Liquid) -> list[str]:
    """What the readings do not tell of that liquid, in words.

    >>> liquid_warnings(Liquid(salt="NaCl", mass_fraction=None, read_in=("sodium chloride",)))
    []
    """
    said: list[str] = []
    if not liquid.salt.strip():
        said.append(
            "nobody said which liquid it holds: hydrogen is counted as in strong alkali, and the cautions of lye are missing"
        )
    elif liquid.read_in and _name(liquid.salt) not in liquid.read_in:
        said.append(
            f"the electrodes were read in {' and '.join(liquid.read_in)}, not in {_name(liquid.salt)}: what they give in it, "
            "and whether their layer holds it back, nobody has read"
        )
    if len(liquid.read_in) > 1:
        said.append(
            f"the electrodes were read in {' and in '.join(liquid.read_in)}: what is taken lies between the two"
        )
    return said


def at_the_high_end(each: Consumption, plan: CellPlan, whole_time: float) -> Consumption:
    """The same with the corrosion and hydrogen at the high end that the caution counts with.

    Parameters
    ----------
    each : Consumption
    plan : CellPlan
    whole_time : float [s]

    Returns
    -------
    Consumption
        Unchanged where corrosion was measured, or the high end is no more than what was taken.
    """
    gas = gas_current(replace(plan, corrosion_taken=None))
    if gas is None or gas[2]:
        return each
    charge = gas[0].high / plan.cells * whole_time
    mass = charge * each.used / each.charge
    if mass <= each.corroded:
        return each
    more = (mass - each.corroded) * molar_mass("aluminium hydroxide") / molar_mass("aluminium")
    return replace(
        each,
        corroded_most=mass,
        hydrogen_most=hydrogen_volume(charge),
        hydroxide_most=each.hydroxide + more,
    )
