"""The settings that may be built next: of each factor so many, within what was read or a person's own limits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from aerode import units
from aerode.errors import InputError
from aerode.measure.comparison.factor_effects import amounts_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    Setting = float | str
    Settings = Mapping[str, Setting]

__all__ = ["AS_READ", "MOST_PLACES", "Lever", "levers_of", "places_of"]

_STEPS = 5  # judgement
"""Settings of a number that are tried, from its low to its high."""
MOST_PLACES = 700  # numerical
"""Places that are weighed against each other; with more factors the settings are thinned."""
AS_READ = 1.05  # judgement
"""Up to here on the coded scale a setting counts as within what was read: a fortieth of the range beyond an end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever:
    """One factor that was varied on purpose: its range, and the settings that may be built.

    Parameters
    ----------
    name : str
    unit : str
        As it was typed: "%", "degC"; "" for a plain number or words.
    low, high : float
        Lowest and highest that was read; -1 and 1 stand for two words.
    settings : tuple of (str, float)
        Each setting that may be built: as it is written, and coded so that the range is -1 to 1.
    """

    name: str
    unit: str
    low: float
    high: float
    settings: tuple[tuple[str, float], ...]

    def coded(self, setting: Setting) -> float:
        """A setting of a recipe on the coded scale."""
        if self.in_words:
            return next(code for word, code in self.settings if word == str(setting))
        found = amounts_of([setting])
        if found is None:
            raise InputError(f"{setting!r} is no number", where=self.name)
        return self.code(found[0][0])

    @property
    def in_words(self) -> bool:
        """Whether its settings are words."""
        return self.unit == _WORDS

    def code(self, number: float) -> float:
        """A number on the coded scale."""
        return (number - 0.5 * (self.low + self.high)) / (0.5 * (self.high - self.low))


_WORDS = "words"


def levers_of(
    settings: Mapping[str, Settings], limits: Mapping[str, tuple[float, float]]
) -> tuple[Lever, ...]:
    """The factors that were varied, with the settings that may be built next.

    Parameters
    ----------
    settings : mapping of recipe to its settings
        Of the recipes that were read.
    limits : mapping of factor to (float, float)
        Where a person sets another range for it, in the unit of the factor.

    Returns
    -------
    tuple of Lever
        Those that vary.

    Raises
    ------
    InputError
        If no factor varies, a recipe lacks a setting, words have more than two values, or a limit
        names no such factor or the wrong way round.

    Examples
    --------
    >>> found = levers_of({"A": {"binder": "10 %"}, "B": {"binder": "20 %"}}, {"binder": (8.0, 14.0)})
    >>> [text for text, _ in found[0].settings]
    ['8 %', '10 %', '11 %', '12 %', '13 %', '14 %']
    """
    names = list(dict.fromkeys(name for those in settings.values() for name in those))
    found: list[Lever] = []
    for name in names:
        lacking = [recipe for recipe, those in settings.items() if name not in those]
        if lacking:
            raise InputError(
                f"no setting of {name!r} is entered for {', '.join(lacking)}", where="factors",
                next_step="enter it with an electrode of that recipe",
            )  # fmt: skip
        lever = _lever(name, [those[name] for those in settings.values()], limits.get(name))
        if lever is not None:
            found.append(lever)
    if not found:
        raise InputError(
            "nothing was varied on purpose between these recipes", where="factors",
            next_step="enter what was varied (binder, catalyst, plate) as factors of each electrode",
        )  # fmt: skip
    strange = [name for name in limits if name not in {lever.name for lever in found}]
    if strange:
        raise InputError(
            f"no factor that was varied is called {strange[0]!r}", where="between",
            allowed=", ".join(lever.name for lever in found),
        )  # fmt: skip
    return _thinned(found)


def _lever(name: str, values: Sequence[Setting], limit: tuple[float, float] | None) -> Lever | None:
    amounts = amounts_of(values)
    if amounts is None:
        kinds = list(dict.fromkeys(str(v) for v in values))
        if len(kinds) != 2:
            if len(kinds) == 1:
                return None
            raise InputError(
                f"the factor {name!r} has {len(kinds)} settings in words", where="factors",
                allowed="two settings in words, or numbers with one unit",
            )  # fmt: skip
        if limit is not None:
            raise InputError(f"{name!r} is in words: it has no range", where="between")
        return Lever(
            name=name, unit=_WORDS, low=-1.0, high=1.0, settings=((kinds[0], -1.0), (kinds[1], 1.0))
        )
    numbers, unit = amounts
    low, high = min(numbers), max(numbers)
    if not high > low:
        return None
    start, stop = limit or (low, high)
    if not start <= stop:
        raise InputError(
            f"from {start:g} to {stop:g} is the wrong way round", where="between", allowed=f'as in "{name} {low:g} to {high:g}"',
        )  # fmt: skip
    bare = Lever(name=name, unit=unit, low=low, high=high, settings=())
    steps = _steps(start, stop, bare)
    if limit is None:
        steps = sorted({*steps, *numbers})
    return Lever(
        name=name, unit=unit, low=low, high=high,
        settings=tuple((f"{units.plain(x, 3)} {unit}".strip(), bare.code(x)) for x in steps),
    )  # fmt: skip


def _steps(start: float, stop: float, lever: Lever) -> list[float]:
    """Five from the lowest to the highest; where they reach past what was read, five in that and the far ends."""
    if start == stop:
        return [start]
    near = max(start, lever.low), min(stop, lever.high)
    if near[0] >= near[1]:
        return [float(x) for x in np.linspace(start, stop, _STEPS)]
    return sorted({start, stop, *(float(x) for x in np.linspace(*near, _STEPS))})


def _ends_and_middle(lever: Lever) -> tuple[tuple[str, float], ...]:
    """Three settings of those within what was read, where there are any."""
    kept = [one for one in lever.settings if abs(one[1]) <= AS_READ] or list(lever.settings)
    return tuple(kept[k] for k in sorted({0, len(kept) // 2, len(kept) - 1}))


def _thinned(levers: list[Lever]) -> tuple[Lever, ...]:
    """With many factors only the ends and the middle of each are kept."""
    if math.prod(len(lever.settings) for lever in levers) <= MOST_PLACES:
        return tuple(levers)
    few = [
        Lever(
            name=one.name, unit=one.unit, low=one.low, high=one.high,
            settings=_ends_and_middle(one),
        )
        for one in levers
    ]  # fmt: skip
    while math.prod(len(one.settings) for one in few) > MOST_PLACES:
        widest = max(range(len(few)), key=lambda k: len(few[k].settings))
        if len(few[widest].settings) < 3:
            raise InputError(
                f"{len(few)} factors are too many to plan for at once", where="factors",
                next_step="fix some of them: give each a range of one setting",
            )  # fmt: skip
        one = few[widest]
        ends = (one.settings[0], one.settings[-1])
        few[widest] = Lever(name=one.name, unit=one.unit, low=one.low, high=one.high, settings=ends)
    return tuple(few)


def places_of(levers: Sequence[Lever]) -> tuple[list[dict[str, str]], NDArray[np.float64]]:
    """Every combination of settings, and the same coded.

    Parameters
    ----------
    levers : sequence of k Lever

    Returns
    -------
    settings : list of n dict of factor to setting
    coded : array (n, k) [1]
    """
    combined = list(product(*(lever.settings for lever in levers)))
    names = [lever.name for lever in levers]
    settings = [
        {name: text for name, (text, _) in zip(names, one, strict=True)} for one in combined
    ]
    return settings, np.array([[code for _, code in one] for one in combined])
