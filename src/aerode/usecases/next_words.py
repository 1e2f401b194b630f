"""The next batch in words: headline, what is taken for granted, a row for each build."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.comparison.factor_effects import amounts_of
from aerode.measure.next_batch import BENT, LINEAR
from aerode.quantities import Basis
from aerode.records.figures import Axis, Figure, Mark, Scale, Series, Stretch
from aerode.records.reports import Table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.next_batch import Choice, Plan
    from aerode.records.next_batches import NextBatch, NextBuild

__all__ = [
    "assumptions_of",
    "batch_table",
    "build_line",
    "drawn_together",
    "few_words",
    "headline_of",
    "outside_words",
    "settings_words",
    "shares_line",
]

_LITTLE = 0.01
_UNLIKELY = 0.25
"""Below this chance a build is there for what it tells: a judgement."""


def settings_words(settings: Mapping[str, str]) -> str:
    """Settings in a line.

    >>> settings_words({"binder": "10 %", "plate temperature": "85 °C"})
    'binder 10 %, plate temperature 85 °C'
    """
    return ", ".join(f"{name} {text}" for name, text in settings.items())


def range_words(settings: Sequence[float | str]) -> str:
    """The settings of a factor that stand on the bench, as a range.

    >>> range_words(["10 %", "20 %", "15 %"]), range_words(["sieved", "milled"])
    ('10 % to 20 %', 'sieved, milled')
    """
    found = amounts_of(settings)
    if found is None:
        return ", ".join(dict.fromkeys(str(one) for one in settings))
    numbers, unit = found
    low, high = (f"{units.plain(x, 3)} {unit}".strip() for x in (min(numbers), max(numbers)))
    return low if low == high else f"{low} to {high}"


def headline_of(builds: Sequence[NextBuild], worth: float, best: str) -> str:
    """How many builds of how many mixes, and what they are expected to be worth."""
    total = sum(one.builds for one in builds)
    new = sum(1 for one in builds if not one.recipe)
    told = f"{total} build{'' if total == 1 else 's'}"
    if any(one.beyond for one in builds):
        return f"A guess: {told} outside what was read; whether they better the best recipe, {best}, nobody can tell"
    if worth < _LITTLE:
        return f"Predicted: {told} more would better the best recipe, {best}, by less than 1 % within what was read"
    what = f"{new} new recipe{'' if new == 1 else 's'}" if new else ""
    again = len(builds) - new
    what += (" and " if what and again else "") + (f"{again} built again" if again else "")
    return f"Predicted: {told} of {what} may better the best recipe, {best}, by about {_per_cent(worth)}"


def _per_cent(worth: float) -> str:
    return f"{units.plain(100.0 * worth, 2)} %"


def outside_words(plan: Plan) -> list[str]:
    """That the limits reach outside what was read, with what simulated benches gave there."""
    beyond = list(
        dict.fromkeys(name for k, out in enumerate(plan.outside) if out for name in plan.beyond(k))
    )
    if not beyond:
        return []
    return [
        f"{' and '.join(beyond)} goes beyond what was read: what is believed there is a guess along a curve, and no gain is "
        "told for it. In simulated benches a limit an eighth of the range further out told 20 to 28 % where 2 to 20 % came"
    ]


def assumptions_of(plan: Plan, limited: bool, pots: str = "") -> tuple[str, ...]:
    """What the choice takes for granted, for everybody."""
    ranges = "; ".join(
        f"{lever.name} {lever.settings[0][0]} to {lever.settings[-1][0]}" for lever in plan.levers
    )
    return (
        f"between {ranges} ({'your limits where you set one, else ' if limited else ''}what was read)",
        f"going from the middle of a factor to an end changes the response by some {100 * LINEAR * plan.belief.scale:.0f} %, "
        f"bends and pairs acting together by some {100 * BENT * plan.belief.scale:.0f} % "
        f"(judgements of {100 * LINEAR:.0f} % and {100 * BENT:.0f} %, moved by the readings): where less changes, the batch brings less",
        f"a build differs from the next one of its recipe by {units.plain(100.0 * plan.belief.spread)} %, or by as much more or less "
        "as so few builds leave open",
        "the best is the recipe with the most current at that point: leaks, life and cost are not in it",
        *([f"the cautions count {pots}, made and coated in one afternoon"] if pots else []),
    )


def few_words(plan: Plan, choice: Choice, enough: int) -> str:
    """Which builds come first, in words: "build the first 3", or each with its count where rows are cut."""
    counts = Counter(choice.order[:enough])
    rows = list(choice.builds)[: len(counts)]
    if all(counts.get(place) == number for place, number in rows):
        return f"build the first {enough}"
    return "build " + "; ".join(
        f"{number} x {settings_words(plan.places[place])}" for place, number in counts.items()
    )


def build_line(one: NextBuild, best: str) -> str:
    """One row of the batch in a sentence."""
    low, high = one.interval_95
    what = f"{one.builds} x {settings_words(one.settings)}"
    again = f" ({one.recipe} again)" if one.recipe else ""
    if one.recipe == best:
        return f"{what}{again}: the best of those that were read; one more build makes it surer"
    if one.beyond:
        return (
            f"{what}{again}: a guess, {_and(one.beyond)} outside what was read: {one.ratio:.2f} [{low:.2f}, {high:.2f}] "
            f"times {best}, not to be counted on"
        )
    return (
        f"{what}{again}: believed {one.ratio:.2f} [{low:.2f}, {high:.2f}] times {best}, "
        f"chance {100 * one.chance_better:.0f} % of being better"
        f"{'; read for what it tells of the others' if one.chance_better < _UNLIKELY else ''}"
    )


def drawn_together(builds: Sequence[NextBuild], best: str) -> list[str]:
    """Why a recipe that was read is believed nearer to the best one than the comparison finds it."""
    read = [one.recipe for one in builds if one.recipe and one.recipe != best]
    if not read:
        return []
    return [
        f"{_and(list(dict.fromkeys(read)))} and {best} are believed nearer to each other than Compare finds them: from few "
        "builds, a part of a difference is luck, and that part is left out here"
    ]


def _and(names: Sequence[str]) -> str:
    return " and ".join(names)


def shares_line(one: NextBuild) -> str:
    """The dry shares of a mix in a line."""
    return ", ".join(
        f"{lot} {units.plain(100.0 * share, 3)} %" for lot, share in one.shares.items()
    )


def batch_table(answer: NextBatch) -> Table:
    """The builds of the batch, a row each.

    Parameters
    ----------
    answer : NextBatch

    Returns
    -------
    Table
    """
    names = list(dict.fromkeys(name for one in answer.builds for name in one.settings))
    return Table(
        caption=f"Believed {answer.response} over that of {answer.best_read}: predicted",
        columns=("Builds", *(name[0].upper() + name[1:] for name in names), "Ratio", "95 %", "Chance to be better"),
        rows=tuple(
            (
                f"{one.builds}" + (f" of {one.recipe}" if one.recipe else " new"),
                *(one.settings.get(name, "") for name in names), f"{one.ratio:.2f}",
                f"{one.interval_95[0]:.2f} to {one.interval_95[1]:.2f}",
                "" if one.recipe == answer.best_read else f"{100 * one.chance_better:.0f} %",
            )
            for one in answer.builds
        ),
    )  # fmt: skip


def next_figure(answer: NextBatch) -> Figure:
    """What is believed of each place of the batch, over the best recipe that was read.

    Parameters
    ----------
    answer : NextBatch

    Returns
    -------
    Figure
    """
    rows = answer.builds[::-1]
    names = tuple(", ".join(one.settings.values()) for one in rows)
    return Figure(
        name="next",
        title="What is believed of the next builds",
        x=Axis(title=f"Ratio to {answer.best_read}", scale=Scale.LOG),
        y=Axis(title="", scale=Scale.NAMES, names=names),
        series=(
            Series(
                label="believed, with its 95 % interval",
                x=tuple(one.ratio for one in rows), y=tuple(float(k) for k in range(len(rows))),
                x_low=tuple(one.interval_95[0] for one in rows), x_high=tuple(one.interval_95[1] for one in rows),
                mark=Mark.RING, basis=Basis.PREDICTED,
            ),
        ),
        stretches=(Stretch(along="x", low=1.0, high=1.0, label=answer.best_read),),
        caption=f"Predicted {answer.response} of each place ({', '.join(answer.builds[0].settings)}) over that of "
        f"{answer.best_read}, as a recipe. A wide interval is what reading it can narrow.",
        alt="; ".join(f"{', '.join(one.settings.values())}: {one.ratio:.2f}, {one.interval_95[0]:.2f} to {one.interval_95[1]:.2f}" for one in answer.builds),
    )  # fmt: skip
