"""What the next builds of a recipe give at every cell voltage, read between those that were tried; the leads they work on."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import CannotTellError
from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.joint import Priors
from aerode.measure.comparison.study import measure_study, voltages_read
from aerode.measure.comparison.values import Response, lead_is_known, lead_to_take
from aerode.measure.sizing import NewBuild, new_build

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.measure.comparison.entrants import Entrant
    from aerode.measure.comparison.study import Study

__all__ = ["Builds", "Lead", "builds_of", "lead_of", "open_circuits", "past_the_top"]

_STEP = 0.05  # judgement
"""Between the cell voltages that are tried [V]."""
_SLACK = 1e-9  # numerical


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """Resistance between each electrode of a battery and what it feeds, that the readings leave out."""

    resistance: float
    """[ohm]"""
    measured: bool
    """On pieces of the recipe."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Builds:
    """The next build of a recipe at each cell voltage that was tried.

    Parameters
    ----------
    at : mapping of float [V] to NewBuild
        The lowest voltage first.
    open_circuit : tuple of float [V], optional
        Mean and highest of its builds.
    """

    at: Mapping[float, NewBuild]
    open_circuit: tuple[float, float] | None = None

    @property
    def lowest(self) -> float:
        """[V]"""
        return min(self.at)

    @property
    def highest(self) -> float:
        """[V]"""
        return max(self.at)

    @property
    def past(self) -> frozenset[float]:
        """The voltages at or below that of the greatest power [V]."""
        return past_the_top({v: math.exp(one.level) for v, one in self.at.items()})

    def build(self, voltage: float) -> NewBuild:
        """The next build at a voltage between two that were tried.

        Parameters
        ----------
        voltage : float [V]
            Below the lowest or above the highest the build there is taken.

        Returns
        -------
        NewBuild
            Current density and uncertainties on a straight line between the two neighbours; of the
            degrees of freedom the fewer.

        Examples
        --------
        >>> one = NewBuild(level=0.0, known_error=0.1, share_of_spread=0.5, spread=0.1,
        ...     degrees_of_freedom=3.0, builds=2, taken=False)
        >>> two = replace(one, level=math.log(3.0))
        >>> round(math.exp(Builds(at={0.4: two, 0.5: one}).build(0.45).level), 6)
        2.0
        """
        tried = sorted(self.at)
        k = int(np.clip(np.searchsorted(tried, voltage), 1, max(len(tried) - 1, 1)))
        if len(tried) == 1:
            return self.at[tried[0]]
        low, high = self.at[tried[k - 1]], self.at[tried[k]]
        share = float(np.clip((voltage - tried[k - 1]) / (tried[k] - tried[k - 1]), 0.0, 1.0))

        def between(one: float, other: float) -> float:
            return (1.0 - share) * one + share * other

        return NewBuild(
            level=math.log(between(math.exp(low.level), math.exp(high.level))),
            known_error=between(low.known_error, high.known_error),
            share_of_spread=between(low.share_of_spread, high.share_of_spread),
            spread=between(low.spread, high.spread),
            degrees_of_freedom=min(low.degrees_of_freedom, high.degrees_of_freedom),
            builds=min(low.builds, high.builds),
            taken=low.taken or high.taken,
        )

    def voltage(self, density: float, open_circuit: float | None = None) -> float | None:
        """The voltage at which the middle of the next builds gives a current density.

        Parameters
        ----------
        density : float [A/m^2]
        open_circuit : float [V], optional
            Beyond the highest voltage that was read a straight line is drawn to it; the curve lies
            below that line, so the voltage is rather told too high. None: the highest that was read.

        Returns
        -------
        float [V] or None
            None where it is more than was read at the lowest voltage.

        Examples
        --------
        >>> one = NewBuild(level=0.0, known_error=0.1, share_of_spread=0.5, spread=0.1,
        ...     degrees_of_freedom=3.0, builds=2, taken=False)
        >>> found = Builds(at={0.4: replace(one, level=math.log(3.0)), 0.5: one})
        >>> round(found.voltage(2.0), 3), round(found.voltage(0.5, 0.7), 3), found.voltage(4.0)
        (0.45, 0.6, None)
        """
        tried = sorted(self.at)
        given = np.minimum.accumulate([math.exp(self.at[v].level) for v in tried])
        if density > given[0]:
            return None
        if open_circuit is not None and open_circuit > tried[-1]:
            tried, given = [*tried, open_circuit], np.append(given, 0.0)
        return float(np.interp(density, given[::-1], tried[::-1]))


def builds_of(study: Study, recipe: str) -> Builds:
    """What the next build of a recipe gives at every voltage that was read on all of its builds.

    Parameters
    ----------
    study : Study
        All recipes that were read: the spread between builds is taken from all of them.
    recipe : str

    Returns
    -------
    Builds

    Raises
    ------
    CannotTellError
        If its builds share no voltage at which all can be read.
    """
    found: dict[float, NewBuild] = {}
    for voltage in _voltages(study, recipe):
        seen = measure_study(study, Response(voltage=voltage)).observations()
        try:
            found[voltage] = new_build(seen, recipe, Priors())
        except CannotTellError:
            continue
    if not found:
        raise CannotTellError(
            f"the builds of {recipe} share no voltage at which all can be read", where="recipe",
            next_step="read them over the same loads",
        )  # fmt: skip
    rest = open_circuits(study, recipe)
    return Builds(at=found, open_circuit=(float(np.mean(rest)), max(rest)) if rest else None)


def open_circuits(study: Study, recipe: str) -> list[float]:
    """The open-circuit voltages that were read on the builds of a recipe [V]; leads swapped count as nothing."""
    return [
        max(r.voltage, 0.0) for e in study.entrants() if recipe_of(e.electrode) == recipe
        for r in e.run.readings if r.load == "open" and r.voltage is not None
    ]  # fmt: skip


def _voltages(study: Study, recipe: str) -> list[float]:
    """The cell voltages to try: every five hundredths of a volt that was read on all builds of the recipe."""
    mine = replace(study, electrodes=tuple(e for e in study.electrodes if recipe_of(e) == recipe))
    low, high = voltages_read(mine)
    steps = range(math.ceil(low / _STEP - _SLACK), math.floor(high / _STEP + _SLACK) + 1)
    return [round(k * _STEP, 2) for k in steps if k > 0] or [0.5 * (low + high)]


def past_the_top(levels: Mapping[float, float]) -> frozenset[float]:
    """The voltages at or below that of the greatest power.

    Parameters
    ----------
    levels : mapping of float [V] to float [A/m^2]
        Current density at each cell voltage.

    Returns
    -------
    frozenset of float [V]
        Empty where the power still rises at the lowest voltage that was read: its top was not seen.

    Examples
    --------
    >>> sorted(past_the_top({0.2: 30.0, 0.3: 25.0, 0.4: 10.0}))
    [0.2, 0.3]
    >>> sorted(past_the_top({0.2: 60.0, 0.3: 25.0, 0.4: 10.0}))
    []
    """
    top = max(levels, key=lambda voltage: voltage * levels[voltage])
    return frozenset(v for v in levels if v <= top) if top > min(levels) else frozenset()


def lead_of(study: Study, recipe: str) -> Lead:
    """The lead on which each electrode of a battery works, as far as the readings were freed of it.

    Parameters
    ----------
    study : Study
    recipe : str

    Returns
    -------
    Lead
        Where values stand at the tab: the mean lead of the pieces of the recipe, else what is taken
        for one that nobody measured. Where they stand at the clips, leads are in them: 0 ohm.
    """
    entrants = study.entrants()
    some_known = any(lead_is_known(e) for e in entrants)
    mine = [e for e in entrants if recipe_of(e.electrode) == recipe and not e.control]
    known = {e.electrode.name: r for e in mine if (r := _measured(e)) is not None}
    if known:
        return Lead(resistance=float(np.mean(list(known.values()))), measured=True)
    taken = [lead_to_take(e, some_known=some_known) for e in mine]
    return Lead(
        resistance=max((one.value for one in taken if one is not None), default=0.0), measured=False
    )


def _measured(entrant: Entrant) -> float | None:
    """Its measured resistance between tab and point of reading [ohm], that of the cell first."""
    tab = entrant.electrode.tab.resistance if entrant.electrode.tab is not None else None
    entry = (entrant.cell.lead_resistance if entrant.cell is not None else None) or tab
    return None if entry is None else entry.value
