"""What is asked of the weights of a pot before they are stored: one that is far from what was planned."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from aerode.errors import AerodeError
from aerode.measure.mix.dosing import doses_for, portions_of, wanted_shares
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.usecases.mix import scale_of, shelf_of
from aerode.usecases.mix_size import wet_mass
from aerode.usecases.pot_plan import is_as_planned, plan_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.store.bench_file import BenchFile

__all__ = ["LIKE_THE_PLAN", "PotDoubt", "ask_of_pot", "doubts_of_pot", "likely_slip"]

LIKE_THE_PLAN = "weights like those that were planned"
"""What would not be asked about."""
_FAR = 1.5  # judgement
"""Times the planned amount, or its part: a spoon more or less is silent, half as much again is not."""
_FAR_THINNED = 3.0  # judgement
"""The same of a solvent, of which people add until it brushes well."""
_NEAR = 0.1  # judgement
"""A pot within it of its plan is told beside the plan itself."""

_ROUND = 5.0
"""Times from which on they are told in whole numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PotDoubt:
    """One weight that is far from the plan."""

    of: str
    place: int
    """Among the portions of the pot."""
    ask: str
    instead: str = ""
    """The likeliest slip, put right: the same digits near to the plan; "" where no power of ten lands there."""


def likely_slip(mass: float, expected: float, within: float = _FAR) -> str:
    """The mass with the same digits that lies near to what is expected; "" where none does.

    Parameters
    ----------
    mass, expected : float [kg]
        As typed, and as it should be about.
    within : float
        As a ratio [1].

    Returns
    -------
    str
        With its unit, as in "7.96 g".

    Examples
    --------
    >>> likely_slip(0.0796, 0.008), likely_slip(0.0051, 0.00051), likely_slip(0.013, 0.008)
    ('7.96 g', '0.51 g', '')
    """
    if mass <= 0.0 or expected <= 0.0:
        return ""
    digits = Decimal(f"{1e3 * mass:.9g}")
    for power in (-1, 1, -2, 2, -3, 3):
        shifted = digits.scaleb(power)
        if abs(math.log(float(shifted) / (1e3 * expected))) <= math.log(within):
            return f"{shifted.normalize():f} g"
    return ""


def ask_of_pot(bench: BenchFile, record: object, before: object = None) -> str:
    """What is asked of the weights of a pot; "" of anything else, and where all are like the plan.

    Parameters
    ----------
    bench : BenchFile
        Open.
    record : Batch or any other
    before : record, optional
        The state it grew out of: weights that stood there already are not asked about again.

    Returns
    -------
    str
        One sentence and its question for each weight, with blanks between.
    """
    if not isinstance(record, Batch):
        return ""
    old = before if isinstance(before, Batch) else None
    return " ".join(one.ask for one in doubts_of_pot(bench, record, old))


def doubts_of_pot(
    bench: BenchFile, batch: Batch, before: Batch | None = None
) -> tuple[PotDoubt, ...]:
    """The weights of a pot that are far from what was planned, for a pot of its size.

    Parameters
    ----------
    bench : BenchFile
        Open; knows its mix and its scale.
    batch : Batch
        As it would be stored.
    before : Batch, optional
        The state it grew out of.

    Returns
    -------
    tuple of PotDoubt
        Empty where all are like the plan, where nothing was planned, and for what was told before.
        A pot of half the size with half of everything is like its plan.
    """
    planned, sized = _planned(bench, batch)
    plan = {one.of: wet_mass(bench, [one]) for one in planned}
    told = {n: wet_mass(bench, [p]) for n, p in enumerate(batch.portions) if not is_as_planned(p)}
    told = {n: mass for n, mass in told.items() if mass * plan.get(batch.portions[n].of, 0.0) > 0.0}
    ratios = {n: mass / plan[batch.portions[n].of] for n, mass in told.items()}
    net = scale_of(bench, "")[0].net_uncertainty
    known = before.portions if before is not None else ()
    found: list[PotDoubt] = []
    for n, mass in told.items():
        portion, size = batch.portions[n], _size(ratios, n, sized=sized)
        whole = sized and abs(size - 1.0) < _NEAR
        expected = plan[portion.of] if whole else size * plan[portion.of]
        if portion not in known and _is_far(portion, mass, expected, net):
            found.append(_doubt(portion, n, mass, expected, whole=whole))
    return tuple(found)


def _planned(bench: BenchFile, batch: Batch) -> tuple[tuple[Portion, ...], bool]:
    """What was to be weighed, and whether that says how large the pot is.

    As the pot kept it, else the amounts of its mix; amounts for its shares say how it is parted alone.
    """
    mix = bench.find(Mix, batch.mix)
    plan = batch.planned or (plan_of(mix) if mix is not None else ())
    if plan or mix is None or not mix.wanted:
        return plan, True
    shelf, scale = shelf_of(bench), scale_of(bench, "")[0]
    try:
        return tuple(portions_of(doses_for(wanted_shares(mix, shelf, scale), 1.0, shelf, scale))), False  # fmt: skip
    except AerodeError:
        return (), False


def _size(ratios: Mapping[int, float], place: int, *, sized: bool) -> float:
    """How large the pot is against its plan: as most of the weights say, in doubt as it was planned.

    Of two weights of a pot of no planned size each is held against the other.
    """
    if sized and len(ratios) == 1:
        return 1.0
    if not sized and len(ratios) == 2:
        return next(one for n, one in ratios.items() if n != place)
    logs, far = [math.log(one) for one in ratios.values()], math.log(_FAR)
    return math.exp(
        max(logs, key=lambda one: (sum(abs(one - other) < far for other in logs), -abs(one)))
    )


def _is_far(portion: Portion, mass: float, expected: float, net: float) -> bool:
    """Whether a weight is off by more than a spoon and more than the scale."""
    far = _FAR_THINNED if portion.shelf is Ingredient.SOLVENT else _FAR
    apart = abs(math.log(mass / expected)) > math.log(far)
    return apart and abs(mass - expected) > 2.0 * net  # two standard uncertainties


def _doubt(portion: Portion, place: int, mass: float, expected: float, *, whole: bool) -> PotDoubt:
    times = mass / expected
    if times >= 1.0:
        how = f"{times:.{0 if times > _ROUND else 1}f} times"
    else:
        how = f"1/{1.0 / times:.0f} of" if times < 1.0 / _ROUND else f"{100.0 * times:.0f} % of"
    plan = f"the planned {_grams(expected)}" if whole else f"the {_grams(expected)} that go with the rest of the pot"  # fmt: skip
    slip = likely_slip(mass, expected) if portion.mass is not None else ""
    likely = f" Likelier it was {slip}." if slip else ""
    return PotDoubt(
        of=portion.of,
        place=place,
        ask=f"{portion.of}: {_grams(mass)} is {how} {plan}. A slip, or meant?{likely}",
        instead=slip,
    )


def _grams(mass: float) -> str:
    return f"{1e3 * mass:.4g} g"
