"""A sized battery as a figure and a table: what new builds give at each cell voltage, and what is asked of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.quantities import Basis
from aerode.records.figures import Axis, Dash, Figure, Mark, Series
from aerode.records.reports import Table
from aerode.usecases.size_words import chance_words

if TYPE_CHECKING:
    from aerode.records.sizes import BatterySize, SizeOption

__all__ = ["option_table", "size_figure"]

_MA_CM2 = 0.1
"""mA/cm² in an A/m²."""


def size_figure(answer: BatterySize) -> Figure:
    """What new builds give at each cell voltage, what is counted on, and what each battery asks of them.

    Parameters
    ----------
    answer : BatterySize

    Returns
    -------
    Figure
    """
    options, given = answer.options, answer.given
    x = tuple(one.cell_voltage for one in given)
    chosen = answer.chosen
    counted = f"{100 * answer.left:.0f} % of that, counted on"
    lines = (
        ("middle of new builds", [one.level for one in given], Dash.SOLID, 0),
        ("nine in ten exceed", [one.exceeded for one in given], Dash.DASHED, 4),
        (counted, [answer.left * one.exceeded for one in given], Dash.DOTTED, 2),
    )
    series = [
        Series(
            label=label, x=x, y=tuple(_MA_CM2 * value for value in values), dash=dash, tone=tone,
            basis=Basis.PREDICTED,
        )
        for label, values, dash, tone in lines
    ]  # fmt: skip
    others = [one for one in options if not one.chosen]
    if others:
        series.append(_asked("asked, other batteries", answer, others, Mark.CROSS, 3))
    series.append(_asked("asked, the battery chosen", answer, [chosen], Mark.DIAMOND, 1))
    return Figure(
        name="battery",
        title=f"What {answer.recipe} gives, and what is asked of it",
        x=Axis(title="Voltage of each cell", unit="V"),
        y=Axis(title="Current density", unit="mA/cm²", low=0.0),
        series=tuple(series),
        caption="Predicted. Each mark is a battery of other cells in a row, at the least that each must give, with the fewest whole electrodes; the "
        "further it stands below the dotted line, the more is left over.",
        alt=f"At {chosen.cell_voltage:.2f} V nine in ten new builds exceed {units.plain(_MA_CM2 * chosen.exceeded)} mA/cm²; "
        f"the battery asks {units.plain(_MA_CM2 * _density(answer, chosen))} mA/cm² of each electrode.",
    )


def _density(answer: BatterySize, one: SizeOption) -> float:
    """What is asked of every electrode [A/m^2]."""
    return one.current / (one.electrodes * answer.electrode_area)


def _asked(
    label: str, answer: BatterySize, those: list[SizeOption], mark: Mark, tone: int
) -> Series:
    return Series(
        label=label,
        x=tuple(one.cell_voltage for one in those),
        y=tuple(_MA_CM2 * _density(answer, one) for one in those),
        mark=mark,
        tone=tone,
        basis=Basis.PREDICTED,
    )


def option_table(answer: BatterySize) -> Table:
    """Every battery that was tried, in a row each.

    Parameters
    ----------
    answer : BatterySize

    Returns
    -------
    Table
    """
    direct = any(one.load_fresh is not None for one in answer.options)
    return Table(
        caption="Batteries of other cells in a row",
        columns=("Cells in a row", "Electrodes in each", "Each cell gives at least", "Current", "Aluminium for it", *(["Fresh at the load"] if direct else []), "Chance"),
        rows=tuple(
            (
                f"{one.in_series}" + (" (chosen)" if one.chosen else " (greatest power, or past it)" if one.past_the_top else ""),
                str(one.electrodes), f"{one.cell_voltage:.2f} V", f"{units.plain(1e3 * one.current)} mA",
                f"{units.plain(1e3 * one.aluminium)} g",
                *([f"{units.plain(one.load_fresh or 0.0, 3)} V"] if direct else []), chance_words(one.chance),
            )
            for one in answer.options
        ),
        numbers=(1,),
    )  # fmt: skip
